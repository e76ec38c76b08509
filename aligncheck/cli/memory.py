"""How this process keeps its memory."""

import ctypes

#: Names of glibc's malloc.h: arrays from this size on get memory of their own, and so much of what is free is kept.
M_TRIM_THRESHOLD, M_MMAP_THRESHOLD = -1, -3
#: The largest that glibc takes; a photo's own pixels are larger and still get memory of their own.
LARGE, KEPT = 32 << 20, 1 << 30


def reuse_freed_memory() -> None:
    """Let arrays that come and go use the same memory again, where the C library can be told so.

    Else each of a few megabytes is fetched from the system and handed back, page by page, which takes a tenth of all
    the time of a check. The most that is in use at one time stays the same.
    """
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (OSError, AttributeError, TypeError):
        return
    mallopt(M_MMAP_THRESHOLD, LARGE)
    mallopt(M_TRIM_THRESHOLD, KEPT)
