"""What may be asked of a meet, and in which order things are done. No HTTP, no SQL, no openpyxl."""
