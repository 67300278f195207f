"""Lists as tables for other programs: CSV, Parquet, GeoJSON."""
