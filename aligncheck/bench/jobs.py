"""Photos sent and what became of them. A job is one photo with one question; its folder holds photo and pictures."""

import json
import secrets
import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import asdict, dataclass, field, fields
from pathlib import Path
from shutil import rmtree
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from aligncheck.bench.places import Place

JOB_FILE = "job.json"
#: Name of a photo in its folder; refusals that name the file say "The photo ...".
PHOTO_FILE = "The photo"
PICTURES = ("preview", "overlay", "flat-dark", "flat-light")

OPEN = ("waiting", "measuring")


@dataclass
class Job:
    """One photo and its answer.

    Attributes
    ----------
    id : str
        Random; whoever knows it and has the place may see the job.
    place : str
        Id of the place that sent it.
    state : str
        ``waiting``, ``measuring``, ``done``, ``refused``, ``failed`` or ``stopped``.
    step : str
        While measuring: what was found last, ``photo``, ``panel`` or ``marks``.
    sent, taken : float, str or None
        Seconds since 1970; the moment in the photo, ISO 8601.
    before : str or None
        The job that this photo shall be compared with.
    kept : dict
        Of the record: ``state`` (``keeping``, ``kept``, ``failed``), the stage's title and number, or the reason.
    """

    id: str
    place: str
    panel: str
    sent: float
    segments: int | None = None
    tolerance_mm: float | None = None
    piece: str | None = None
    corners_px: list[list[float]] | None = None
    before: str | None = None
    state: str = "waiting"
    step: str = ""
    taken: str | None = None
    size_px: list[int] | None = None
    found_px: list[list[float]] | None = None
    answer: dict[str, Any] | None = None
    refusal: dict[str, Any] | None = None
    kept: dict[str, Any] = field(default_factory=dict)
    pictures: list[str] = field(default_factory=list)
    source: str = "sent"
    started: float | None = None
    seconds: float | None = None
    version: int = 0

    @classmethod
    def sent_from(cls, place: "Place", job_id: str) -> "Job":
        """A photo that has just come from `place`, with the question that is set there."""
        return cls(
            id=job_id,
            place=place.id,
            panel=place.panel or "",
            sent=now(),
            segments=place.segments,
            tolerance_mm=place.tolerance_mm,
            piece=place.piece,
        )

    @property
    def is_open(self) -> bool:
        """Whether its answer is still to come."""
        return self.state in OPEN


class Jobs:
    """All jobs, newest last, each in a folder of its own under `folder`."""

    def __init__(self, folder: Path, most: int, most_bytes: int):
        self.folder, self.most, self.most_bytes = folder, most, most_bytes
        self._jobs: dict[str, Job] = {}

    def load(self) -> list[Job]:
        """Bring back what an earlier run left; those whose answer was still to come."""
        self.folder.mkdir(parents=True, exist_ok=True)
        known = {f.name for f in fields(Job)}
        found = []
        for home in self.folder.iterdir():
            try:
                content = json.loads((home / JOB_FILE).read_bytes())
                job = Job(**{k: v for k, v in content.items() if k in known})
                # The name of the folder counts, whatever the file says.
                job.id = home.name
                found.append(job)
            except (OSError, ValueError, TypeError):
                if home.is_dir() and not (home / PHOTO_FILE).exists():
                    rmtree(home, ignore_errors=True)
        for job in sorted(found, key=lambda j: j.sent):
            self._jobs[job.id] = job
            if job.kept.get("state") == "keeping":
                job.kept = {}
        return [job for job in self if job.is_open]

    def __iter__(self) -> Iterator[Job]:
        return iter(list(self._jobs.values()))

    def get(self, job_id: str) -> Job | None:
        """The job, if there is one; what a client sends is looked up and never made into a path."""
        return self._jobs.get(job_id)

    def of_place(self, place: str) -> list[Job]:
        """A place's jobs, newest last."""
        return [job for job in self if job.place == place]

    def home(self, job: Job) -> Path:
        """The job's folder."""
        return self.folder / job.id

    def photo(self, job: Job) -> Path:
        """Where its photo lies."""
        return self.home(job) / PHOTO_FILE

    def new_home(self) -> tuple[str, Path]:
        """A new id and its folder, for a photo that is just coming in."""
        job_id = secrets.token_urlsafe(16)
        home = self.folder / job_id
        home.mkdir(parents=True)
        return job_id, home

    def add(self, job: Job) -> None:
        """Enter a job whose photo is there, and let the oldest go."""
        self._jobs[job.id] = job
        self.save(job)
        self._let_go()

    def save(self, job: Job) -> None:
        """Write a job down; a full disk must not stop the answer."""
        beside = self.home(job) / f".{JOB_FILE}.part"
        with suppress(OSError):
            beside.write_text(json.dumps(asdict(job)), "utf-8")
            beside.replace(self.home(job) / JOB_FILE)

    def put_picture(self, job: Job, name: str, data: bytes) -> None:
        """Keep a picture of the page; names are ours alone."""
        if name in PICTURES:
            with suppress(OSError):
                (self.home(job) / f"{name}.jpg").write_bytes(data)

    def picture(self, job: Job, name: str) -> Path | None:
        """Where one of its pictures lies."""
        return self.home(job) / f"{name}.jpg" if name in PICTURES and name in job.pictures else None

    def average_s(self) -> float:
        """How long a check has taken lately."""
        times = [job.seconds for job in self if job.seconds and job.state == "done"][-20:]
        return sum(times) / len(times) if times else 3.0

    def _let_go(self) -> None:
        """Drop the oldest finished jobs beyond the bounds."""
        done = [job for job in self if not job.is_open and job.kept.get("state") != "keeping"]
        surplus = len(self._jobs) - self.most
        size = sum(_size(self.photo(job)) for job in self)
        for job in done:
            if surplus <= 0 and size <= self.most_bytes:
                return
            surplus -= 1
            size -= _size(self.photo(job))
            del self._jobs[job.id]
            rmtree(self.home(job), ignore_errors=True)


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0


def now() -> float:
    """Seconds since 1970."""
    return time.time()
