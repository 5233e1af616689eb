"""One thread of linear algebra, as in the service: its matrices are small and threads wait for each other."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
