"""Hydrants, hose and pumps: what water can be moved once it is there. Pure arrays, no roads."""
