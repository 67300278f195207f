"""Design of a station: ladder, trip window, credited failures, sizing, layout checks, design sheet."""
