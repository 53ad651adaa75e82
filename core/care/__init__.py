"""Upkeep tasks, seasons, checklists and cautions."""
