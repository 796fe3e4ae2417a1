"""Plane and solid shapes. No shop words."""

from sumpwright.geometry.plane_shapes import Circle, Outline, Stroke
from sumpwright.geometry.solid_shapes import FlatFrame, Plane, Surface

__all__ = ["Circle", "FlatFrame", "Outline", "Plane", "Stroke", "Surface"]
