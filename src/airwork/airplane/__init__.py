"""The airplane: its file, handbook tables, loading, runway, and the fitted performance model."""
