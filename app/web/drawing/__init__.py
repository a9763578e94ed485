"""Geometry and words of the drawings; the partials only place them."""
