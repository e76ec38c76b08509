"""Eight processes that add at once: all entries there, one photo once."""

import subprocess
import sys
from pathlib import Path

from aligncheck.record import new_record, open_record
from aligncheck.record.verify import verify

ADD = """
import sys
from pathlib import Path
from aligncheck.record.store import store
from tests.record.pieces import shown
who = int(sys.argv[2])
for k in range(6):
    store(Path(sys.argv[1]), shown(100 * who + k))
# One that all of them add.
store(Path(sys.argv[1]), shown(7777))
"""


def test_eight_processes_add_at_once(tmp_path: Path) -> None:
    folder = tmp_path / "piece"
    new_record(folder, "12x12in")
    root = Path(__file__).parents[2]
    runs = [subprocess.Popen([sys.executable, "-c", ADD, str(folder), str(k)], cwd=root) for k in range(1, 9)]
    assert [run.wait(timeout=120) for run in runs] == [0] * 8
    record = open_record(folder)
    assert len(record.stages) == 8 * 6 + 1
    assert len({s.photo_sha256 for s in record.stages}) == 49
    assert verify(folder) == (49, [])
