"""The formats of files: CSV, spreadsheets, tables written out and read back, iCalendar."""
