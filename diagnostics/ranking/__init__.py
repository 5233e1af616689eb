"""The engine's causes applied to records: rankings of readings, surveys of loops."""
