"""The page of a piece: one HTML file that opens offline and asks for nothing from elsewhere."""

from aligncheck.record.page.page import page_html, stage_cards

__all__ = ["page_html", "stage_cards"]
