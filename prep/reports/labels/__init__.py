"""Labels of bottles: sheets, layout, PDF."""
