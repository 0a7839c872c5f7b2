"""The lesson: file, weather, fuel and tanks in time, practice area, verdict, briefing."""
