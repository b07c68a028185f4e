"""Sustained hauled-water flow for every parcel of a rural fire district, over real roads."""
