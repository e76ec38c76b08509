"""`aligncheck record add`: photos one after the other, each safe before the next begins."""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from aligncheck.cli import DONE, NOT_DONE, say
from aligncheck.cli.progress import Progress
from aligncheck.errors import AligncheckError, RecordError
from aligncheck.record import add_photo, open_record
from aligncheck.words.cautions import VARNISH


def add_all(folder: Path, photos: Sequence[Path], **options: Any) -> int:
    """Add all photos; one that cannot be added does not stop the others."""
    open_record(folder)
    status = DONE
    with Progress(len(photos)) as progress:
        for path in dict.fromkeys(photos):
            try:
                added = add_photo(folder, path, **options)
            except RecordError:
                raise
            except AligncheckError as error:
                sentence = str(error)
                progress.clear()
                status = say(sentence if path.name in sentence else f"{path.name}: {sentence}", NOT_DONE)
                continue
            progress.clear()
            for note in added.notes:
                say(note.text)
            stage = added.stage
            if added.new:
                print(f"{path.name}: kept as {stage.name}. {stage.headline}. {stage.second}")  # noqa: T201
                if "varnish" in stage.name.lower():
                    print(VARNISH)  # noqa: T201
            else:
                print(f"{path.name}: is in the record already, as {stage.name}.")  # noqa: T201
            sys.stdout.flush()
            progress.step()
    return status
