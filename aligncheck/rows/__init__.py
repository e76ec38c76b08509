"""Rows of traced petals: photo and drift in, tips and bases in mm out."""

from typing import TYPE_CHECKING

from aligncheck.on_demand import on_demand

if TYPE_CHECKING:
    from aligncheck.rows.find import find_petals
    from aligncheck.rows.petals import Petal, Row, Rows

__getattr__ = on_demand(__name__, {"find_petals": "find", "Petal": "petals", "Row": "petals", "Rows": "petals"})

__all__ = ["Petal", "Row", "Rows", "find_petals"]
