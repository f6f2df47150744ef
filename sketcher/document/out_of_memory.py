"""Which errors say that there is no memory left: that is no fault of a plate, and the next try may well go through."""

from __future__ import annotations

import errno
from typing import Any

resource: Any
try:
    import resource
except ImportError:  # Windows has none
    resource = None

WORDS = "There is not enough memory for this; nothing was lost. Close other programs and try again."
#: What the loaders of shared libraries say (dlopen of glibc and musl, dyld, LoadLibrary); they give no number.
_LOADERS = ("failed to map segment", "annot allocate memory", "no suitable image", "paging file is too small")


#: With less address space the libraries alone do not load, bytes.
LEAST_BYTES = 1_000_000_000


def take_room() -> None:
    """Where the address space is limited (``ulimit -v``): has the linear algebra take its working memory at the start.

    Later, when none is left, it would ask for it again and again without an end (OpenBLAS's ``blas_memory_alloc``).

    Raises:
        MemoryError: the limit is too low for anything.
    """
    limit = resource.getrlimit(resource.RLIMIT_AS)[0] if resource else -1
    if not resource or limit == resource.RLIM_INFINITY:
        return
    if limit < LEAST_BYTES:
        raise MemoryError
    import numpy as np
    from scipy.linalg import lu_factor

    matrix = np.eye(200)
    lu_factor(matrix @ matrix)


def out_of_memory(error: BaseException) -> bool:
    """Whether an error is one of them."""
    if isinstance(error, MemoryError):
        return True
    if isinstance(error, OSError):
        return error.errno == errno.ENOMEM
    if isinstance(error, RuntimeError):
        return "can't start new thread" in str(error)
    return isinstance(error, ImportError) and any(words in str(error) for words in _LOADERS)
