"""Faces on paper: card, briefing, report, plots. They show values and compute nothing."""
