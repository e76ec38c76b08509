"""Check the marks on a painter's panel from one phone photo."""

__version__ = "0.1.0"
