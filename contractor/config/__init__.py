import os

# the engine's matrices are small: threads of the linear algebra only fight the other workers for the cores
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from contractor.config.celery import app as celery_app

__all__ = ["celery_app"]
