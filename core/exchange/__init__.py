"""Files in and out: CSV sheets, whole folders, previews."""
