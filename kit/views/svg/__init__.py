"""Figures as inline SVG: a small writer for the part of plotly's figures that the reports use."""
