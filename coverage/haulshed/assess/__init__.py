"""The whole model, pure: a district's inputs go in, every parcel's answer comes out."""
