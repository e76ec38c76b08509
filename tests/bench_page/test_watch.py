"""A camera over the bench: new photos are measured by themselves, nothing else is."""

import time
from pathlib import Path

from aligncheck.result.ours import marked
from tests.bench_page.running import Client, running, small_photo


def newest(client: Client, wanted: int, folder: Path) -> list[Path]:
    until = time.monotonic() + 180
    while time.monotonic() < until:
        done = [p for p in folder.iterdir() if (p / "overlay.jpg").exists()]
        if len(done) >= wanted:
            return done
        time.sleep(0.1)
    raise AssertionError(list(folder.iterdir()))


def test_new_photos_are_measured(tmp_path: Path) -> None:
    """Old files, files of ours, other files and half-copied ones are left; a new photo is measured once."""
    watched = tmp_path / "camera"
    watched.mkdir()
    (watched / "old.jpg").write_bytes(small_photo(800))
    with running(tmp_path / "bench", watch=watched) as bench:
        client = bench.client()
        assert "Waiting for a new photo" in client.get("/live").text
        (watched / "notes.txt").write_text("no photo")
        (watched / "drawn.jpg").write_bytes(marked(small_photo(800)))
        photo = small_photo()
        # It arrives piece by piece, as a sync program writes it.
        with (watched / "new.jpg").open("wb") as file:
            for k in range(0, len(photo), len(photo) // 6 + 1):
                file.write(photo[k : k + len(photo) // 6 + 1])
                file.flush()
                time.sleep(0.15)
        folder = bench.settings.folder / "photos"
        (job,) = newest(client, 1, folder)
        # The picture is written a moment before the page knows of it.
        client.wait(f"/photos/{job.name}")
        page = client.get("/live").text
        assert "Move" in page and "overlay.jpg" in page
        (watched / "again.jpg").write_bytes(small_photo(seed=5))
        newest(client, 2, folder)
        time.sleep(1.2)
        assert len(list(folder.iterdir())) == 2
        # Whoever watches takes nothing away.
        assert {p.name for p in watched.iterdir()} == {"old.jpg", "notes.txt", "drawn.jpg", "new.jpg", "again.jpg"}


def test_without_a_size_photos_wait(tmp_path: Path) -> None:
    watched = tmp_path / "camera"
    watched.mkdir()
    with running(tmp_path / "bench", watch=watched, panel=None) as bench:
        client = bench.client()
        (watched / "one.jpg").write_bytes(small_photo())
        time.sleep(1.5)
        assert "Say first how large" in client.get("/live").text
        assert client.post("/live", {"panel": "12x12in"}).status == 303
        newest(client, 1, bench.settings.folder / "photos")


def test_no_camera(bench) -> None:
    """Without a watched folder its pages are not there."""
    assert bench.client().get("/live").status == 404
    assert bench.client().get("/live/events").status == 404
