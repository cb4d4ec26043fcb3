"""Drawings of the sheet: SVG that prints."""
