"""What paper needs: fonts, pages, pictograms."""
