"""One month, complete: the single thing that dashboard, report and command line show."""
