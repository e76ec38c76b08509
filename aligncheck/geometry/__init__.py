"""Pure functions on arrays: angles, lines, circles, projective maps, uncertainty."""
