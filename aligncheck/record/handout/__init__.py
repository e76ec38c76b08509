"""The handout of a piece for a class: a PDF of one to three pages."""

from aligncheck.record.handout.handout import handout_pdf

__all__ = ["handout_pdf"]
