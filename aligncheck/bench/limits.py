"""What a worker may use: it opens pictures of strangers, so it gets as little as it can work with."""

import os
import sys
from contextlib import suppress


def limit_resources(data_bytes: int) -> None:
    """Bound memory, forbid writing files and dumping core, and let the page go first. Elsewhere than on Unix: nothing.

    RLIMIT_DATA and not RLIMIT_AS: libraries map far more addresses than they use.
    """
    if sys.platform == "win32":
        return
    import resource

    bounds = [(resource.RLIMIT_CORE, 0), (resource.RLIMIT_FSIZE, 0), (resource.RLIMIT_NOFILE, 64)]
    if sys.platform == "linux":
        bounds.append((resource.RLIMIT_DATA, data_bytes))
    for kind, most in bounds:
        # Where the system sets a lower bound already, that one stands.
        with suppress(ValueError, OSError):
            resource.setrlimit(kind, (most, most))
    with suppress(OSError):
        os.nice(5)
