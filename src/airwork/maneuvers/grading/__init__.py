"""How an episode is judged: evidence, sheet, measured numbers, verdicts, and why it drifted (`causes`)."""
