"""How a flight is looked at: the view, its turns, slow stretches, legs and runway contacts, and scoring."""
