"""Findings in words: every sentence a person reads about a finished check."""

from aligncheck.words.findings import findings, remarks
from aligncheck.words.seen import Seen
from aligncheck.words.summary import Summary, refused, summarise
from aligncheck.words.table import table

__all__ = ["Seen", "Summary", "findings", "refused", "remarks", "summarise", "table"]
