import os

from celery import Celery
from kombu.transport import TRANSPORT_ALIASES

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "contractor.config.settings")
TRANSPORT_ALIASES["files"] = "contractor.workqueue.file_broker:Transport"

app = Celery("waterside")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["contractor.workqueue"])
