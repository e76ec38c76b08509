"""The stages of a piece, from the marks to the paint."""

from typing import Literal, get_args

from aligncheck.errors import InputError

Stage = Literal["marked", "arranged", "rows", "painted"]
STAGES: tuple[Stage, ...] = get_args(Stage)


def require_stage(stage: str | None) -> None:
    """Refuse a stage that there is not."""
    if stage is not None and stage not in STAGES:
        raise InputError("bad_stage", text=stage, known=", ".join(STAGES))
