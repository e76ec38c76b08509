"""Stages of one piece in one frame, as pictures that can be compared and as a film."""

from aligncheck.film.register import Registration, register

__all__ = ["Registration", "register"]
