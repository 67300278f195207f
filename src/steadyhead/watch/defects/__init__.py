"""Defects of logger data, found and named (design handbook 6.2). The values themselves never change."""
