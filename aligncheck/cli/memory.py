"""How this process keeps its memory."""

import ctypes

#: Names of glibc's malloc.h: arrays from this size on get memory of their own, so much of what is free is kept, and all
#: threads share one store.
M_TRIM_THRESHOLD, M_MMAP_THRESHOLD, M_ARENA_MAX = -1, -3, -8
#: The largest that glibc takes; a photo's own pixels are larger and still get memory of their own.
LARGE, KEPT, STORES = 32 << 20, 64 << 20, 1


def reuse_freed_memory() -> None:
    """Let arrays that come and go use the same memory again, where the C library can be told so.

    Else each of a few megabytes is fetched from the system and handed back, page by page, which takes a tenth of all
    the time of a check. Threads that kept stores of their own would hold a hundred megabytes more.
    """
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (OSError, AttributeError, TypeError):
        return
    mallopt(M_MMAP_THRESHOLD, LARGE)
    mallopt(M_TRIM_THRESHOLD, KEPT)
    mallopt(M_ARENA_MAX, STORES)
