"""What all tests share."""

import os

# As the command has it, before NumPy is loaded: our matrices are small, and the linear algebra's threads only wait for
# one another.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
