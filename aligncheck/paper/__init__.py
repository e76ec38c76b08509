"""True-scale paper: vector PDF in mm, with a ruler to check the printer by."""

from aligncheck.paper.lens_board import lens_board_pdf

__all__ = ["lens_board_pdf"]
