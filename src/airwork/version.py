"""The program's version. Apart from `airwork/__init__.py`, so that no floor below has to import the front door."""

VERSION = "0.2.0"
