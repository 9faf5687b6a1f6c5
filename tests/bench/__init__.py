"""Figures that are measured by hand and are no part of the suite."""
