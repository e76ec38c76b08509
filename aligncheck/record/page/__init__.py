"""The page of a piece: one HTML file that opens offline and asks for nothing from elsewhere."""

from aligncheck.record.page.page import is_our_page, page_html, stage_cards

__all__ = ["is_our_page", "page_html", "stage_cards"]
