"""What a unit's instruments and clean reference can tell, for an exchanger on record or a row of a file."""
