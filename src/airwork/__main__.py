"""`python -m airwork`."""

from airwork.cli import command

if __name__ == "__main__":
    command()
