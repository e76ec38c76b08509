"""Every kind of page through the standard's own checker of HTML."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.bench_page.running import Running, blank_photo, small_photo

ROOT = Path(__file__).parents[2]
#: Where .ci/run puts the checkers.
NU = Path(os.environ.get("ALIGNCHECK_NODE", ROOT / ".ci" / "node")) / "node_modules/vnu-jar/build/dist/vnu.jar"


@pytest.mark.skipif(not (NU.is_file() and shutil.which("java")), reason="needs vnu-jar and java: see .ci/run")
def test_pages_are_valid(bench: Running, tmp_path: Path) -> None:
    client = bench.client()
    measured = client.send(small_photo(seed=50)).json["url"]
    client.wait(measured)
    again = client.send(small_photo(seed=51), before=measured.rsplit("/", 1)[1]).json["url"]
    waiting = client.get(again).body
    client.wait(again)
    refused = client.send(blank_photo()).json["url"]
    client.wait(refused)
    slip = client.send(small_photo(seed=52), panel="twelve").json["url"]
    addresses = {
        "home": "/", "class": "/class", "nothing": "/nothing", "result": again, "flat": f"{measured}?view=flat",
        "keep": f"{measured}/keep", "refused": refused, "corners": f"{refused}/corners?marked=9,9", "slip": slip,
    }  # fmt: skip
    for name, address in addresses.items():
        (tmp_path / f"{name}.html").write_bytes(client.get(address).body)
    (tmp_path / "waiting.html").write_bytes(waiting)
    command = ["java", "-jar", str(NU), "--errors-only", "--exit-zero-always", *map(str, tmp_path.glob("*.html"))]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300, check=True)
    assert done.stdout + done.stderr == ""
