"""Of several photos, the one that an error is about."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from aligncheck.checking.given import AnyPhoto
from aligncheck.errors import AligncheckError
from aligncheck.photo import Photo


@contextmanager
def about(photo: AnyPhoto, several: bool = True) -> Iterator[None]:
    """Let an error say which photo it is about, where there are `several`."""
    try:
        yield
    except AligncheckError as error:
        path = photo.path if isinstance(photo, Photo) else Path(photo)
        if several and path is not None:
            error.photo = error.photo or path.name
        raise
