"""What would mend a district, where and for how much: changes, their comparison, the choice."""
