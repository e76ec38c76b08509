"""A photo file as upright pixels, with what the camera said of itself."""

from aligncheck.photo.photo import Camera, Photo
from aligncheck.photo.read import read_photo

__all__ = ["Camera", "Photo", "read_photo"]
