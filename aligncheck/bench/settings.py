"""How the bench page runs: its limits, each with its reason, and what the command line chooses."""

import os
import secrets
from dataclasses import dataclass, field
from pathlib import Path

#: Phones write at most some 30 MB for 50 megapixels, and 12 megapixels as PNG take 40.
MAX_UPLOAD_BYTES = 80_000_000
#: Everything else that a form holds.
MAX_FIELD_BYTES = 4_000
MAX_FORM_BYTES = 16_000
#: A phone at the far end of a studio's network sends some 100 kB in a second; silence this long is a lost phone.
SILENCE_S = 30.0
UPLOAD_S = 600.0

#: A check takes one to three seconds; ten times that on a busy computer is not an answer any more.
CHECK_S = 90.0
#: A 50-megapixel check takes some 700 MB of data; more is a picture that means harm.
WORKER_DATA_BYTES = 1_500_000_000
#: A class of thirty, each with two photos, and as many to spare; one phone alone cannot fill it.
MAX_WAITING = 120
MAX_WAITING_A_PLACE = 5

#: What is kept of what was sent, so that nothing has to be taken twice; photos kept in a record stay there.
KEPT_JOBS = 300
KEPT_BYTES = 6_000_000_000
MAX_PLACES = 200


@dataclass(frozen=True)
class Settings:
    """What was chosen for one run.

    Attributes
    ----------
    folder : Path
        Photos sent, and the records of pieces, are kept here.
    lan : bool
        Whether other computers and phones may come in, with a token.
    port : int
    watch : Path or None
        A folder in which a camera or a sync program puts photos.
    panel, segments, tolerance_mm : optional
        What a new place begins with.
    workers : int
        Processes that measure.
    token, host_token : str
        For the phones, and for the one who sees all places.
    """

    folder: Path
    lan: bool = False
    port: int = 8765
    watch: Path | None = None
    panel: str | None = None
    segments: int | None = None
    tolerance_mm: float | None = None
    workers: int = field(default_factory=lambda: max(1, min(os.cpu_count() or 1, 4)))
    token: str = field(default_factory=lambda: secrets.token_urlsafe(18), repr=False)
    host_token: str = field(default_factory=lambda: secrets.token_urlsafe(18), repr=False)
    check_s: float = CHECK_S
    worker_data_bytes: int = WORKER_DATA_BYTES
    max_upload_bytes: int = MAX_UPLOAD_BYTES
    max_waiting: int = MAX_WAITING
    max_waiting_a_place: int = MAX_WAITING_A_PLACE
