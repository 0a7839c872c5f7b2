"""The logbook: students, flights, grades, endorsements; what is left and what expires."""
