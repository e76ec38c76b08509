"""Names of result files never meet, and what is ours is known by its content."""

from pathlib import Path

from aligncheck.result.names import targets
from aligncheck.result.ours import is_ours

OUT = Path("out")


def stems(*photos: str, out: Path | None = OUT) -> list[str]:
    return [t.stem for t in targets([Path(p) for p in photos], out)]


def test_a_photo_gives_its_stem() -> None:
    target = targets([Path("p/IMG 1.heic")], OUT)[0]
    assert [f.name for f in target.files] == [
        "IMG 1.json",
        "IMG 1.flat.jpg",
        "IMG 1.overlay.jpg",
        "IMG 1.flat-overlay.jpg",
    ]
    assert target.result.parent == OUT


def test_without_out_a_folder_beside_each_photo() -> None:
    assert [t.folder for t in targets([Path("p/a.jpg"), Path("q/a.jpg")], None)] == [
        Path("p/aligncheck"),
        Path("q/aligncheck"),
    ]
    assert stems("p/a.jpg", "q/a.jpg", out=None) == ["a", "a"]


def test_photos_of_one_stem_keep_their_endings() -> None:
    assert stems("a.heic", "a.jpg", "b.jpg") == ["a.heic", "a.jpg", "b"]
    assert stems("a.JPG", "A.heic") == ["a.JPG", "A.heic"]


def test_photos_of_one_name_get_their_folder_or_a_number() -> None:
    assert stems("/p/a.jpg", "/q/a.jpg") == ["p-a.jpg", "q-a.jpg"]
    assert stems("/x/p/a.jpg", "/y/p/a.jpg") == ["p-a.jpg", "p-a.jpg-2"]


def test_no_two_files_of_a_call_share_a_name() -> None:
    photos = ["a.jpg", "a.heic", "/p/a.jpg", "/q/p/a.jpg", "a.flat.jpg", "A.png", "/p/a.heic"]
    names = [f.name.casefold() for t in targets([Path(p) for p in photos], OUT) for f in t.files]
    assert len(set(names)) == len(names)


def test_ours_is_known_by_content_not_by_name(tmp_path: Path) -> None:
    def made(name: str, content: bytes) -> Path:
        (tmp_path / name).write_bytes(content)
        return tmp_path / name

    assert is_ours(made("a.json", b'{"schema": "aligncheck-result-1"}'))
    assert is_ours(made("b.json", b'{"schema": "aligncheck-result-2", "x": 1}'))
    assert not is_ours(made("c.json", b'{"schema": "other"}'))
    assert not is_ours(made("d.json", b'["aligncheck-result-1"]'))
    assert not is_ours(made("e.json", b"{"))
    assert not is_ours(made("f.flat.jpg", b"\xff\xd8\xff\xe0 a photo of hers"))
    assert not is_ours(tmp_path / "none.json")
    (tmp_path / "link.json").symlink_to(tmp_path / "a.json")
    assert not is_ours(tmp_path / "link.json")
    (tmp_path / "dir.json").mkdir()
    assert not is_ours(tmp_path / "dir.json")
