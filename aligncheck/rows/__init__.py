"""Rows of traced petals: photo and drift in, tips and bases in mm out."""

from aligncheck.rows.find import find_petals
from aligncheck.rows.petals import Petal, Row, Rows

__all__ = ["Petal", "Row", "Rows", "find_petals"]
