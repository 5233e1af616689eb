"""Physics and chemistry: no Django, no Celery. Set before numpy loads: its matrices here are too small for threads."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
