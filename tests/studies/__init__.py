"""Long studies, run by name; the tests run them at a twentieth of their size."""
