"""From footprints of buildings to what they say of parcels; plain geometry, no files."""
