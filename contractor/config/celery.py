import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "contractor.config.settings")

app = Celery("waterside")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["contractor.workqueue"])
