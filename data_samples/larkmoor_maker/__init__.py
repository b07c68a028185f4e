"""The maker of Larkmoor, the invented demo district: one module a layer of the map."""
