"""What a map says of a district: places and roads in, a district's first tables out."""
