"""Rows of traced petals: photo and drift in, tips and bases in mm out."""

from typing import TYPE_CHECKING

from aligncheck.on_demand import on_demand
from aligncheck.rows.petals import Petal, Row, Rows

if TYPE_CHECKING:
    from aligncheck.rows.find import find_petals

__getattr__ = on_demand(__name__, {"find_petals": "find"})

__all__ = ["Petal", "Row", "Rows", "find_petals"]
