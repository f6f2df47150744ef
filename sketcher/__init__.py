"""Sketches, checks and hands off coolant distribution plates."""

import os

__version__ = "0.1.0"

# Our matrices are small: threads of the linear algebra behind numpy and scipy gain nothing on them, and wait for each
# other while the machine is busy, a hundred times as long as they work. Read when numpy is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
