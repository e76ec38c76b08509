"""What can go wrong, as errors with a code and values; `aligncheck.sentences` holds the words."""

from aligncheck.sentences import phrase


class AligncheckError(Exception):
    """Base of every error this package raises on purpose.

    Attributes
    ----------
    code : str
        Short fixed name, such as ``"panel_cut_off"``.
    values : dict
        What the sentence is filled in with.
    photo : str or None
        Name of the photo that it is about, where several were given.
    """

    photo: str | None = None

    def __init__(self, code: str, **values: object):
        self.code = code
        self.values = values
        super().__init__(code)

    def __str__(self) -> str:
        sentence = phrase(self.code, self.values)
        return f"{self.photo}: {sentence}" if self.photo and self.photo not in sentence else sentence


class PhotoError(AligncheckError):
    """The file is not a photo that can be read, or is too small, too large, dark, blown out or blurred."""


class PanelError(AligncheckError):
    """No panel was found that this photo is sure to show."""


class MarksError(AligncheckError):
    """Nothing that can be measured is drawn on the panel."""


class CentrepieceError(AligncheckError):
    """Nothing lies on the panel that can be measured, or it cannot be compared with an earlier photo."""


class InputError(AligncheckError):
    """An option, size, layout file or profile that cannot be understood or does not fit."""


class RecordError(AligncheckError):
    """A folder is no record, is of a newer format, or something in it is damaged or missing."""


class OutputError(AligncheckError):
    """A result could not be written."""
