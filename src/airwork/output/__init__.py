"""Card, briefing, debrief, charts and tables: on paper, on a page, in the terminal. Nothing is computed here."""
