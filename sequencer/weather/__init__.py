"""The air: humidity formulas, hourly files, days by hand, monthly normals, and what a zone makes of them."""
