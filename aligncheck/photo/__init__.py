"""A photo file as upright pixels, with what the camera said of itself."""

from aligncheck.photo.photo import Camera, Photo

__all__ = ["Camera", "Photo"]
