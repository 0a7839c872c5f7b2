"""Tolerances as data, one file per authority and certificate, every value with its source and label.

`load_standard("private")` gives the shipped file, `load_standard(Path("school.toml"))` a school's own. The thresholds
that no authority prints (how many seconds are "prompt") are in `data/judging.toml` and are shown as airwork's.
"""

from airwork.standards.load import available, load_standard
from airwork.standards.model import Criterion, Judging, Standard, Task, Threshold

__all__ = ["Criterion", "Judging", "Standard", "Task", "Threshold", "available", "load_standard"]
