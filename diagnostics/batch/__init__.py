"""Assessments from spreadsheets: comma-separated files in, one JSON object a line out, no database."""
