"""One folder per piece: every stage's photo kept, compared and shown."""

from aligncheck.record.add import add_photo
from aligncheck.record.piece import Piece
from aligncheck.record.record import Record, find_stage, new_record, open_record
from aligncheck.record.stage import Stage
from aligncheck.record.store import Added

__all__ = ["Added", "Piece", "Record", "Stage", "add_photo", "find_stage", "new_record", "open_record"]
