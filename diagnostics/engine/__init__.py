"""Physics and chemistry: no Django, no Celery. One thread of linear algebra: its matrices are small."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
