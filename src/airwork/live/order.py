"""The lesson's exercises as they are flown: which comes next, which are left, in whatever order they are taken."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass
class Order:
    """kinds : of the exercises as planned; a place in it stands for an exercise."""

    kinds: tuple[str, ...]
    _flown: set[int] = field(default_factory=set)
    _chosen: int | None = None

    @property
    def left(self) -> tuple[int, ...]:
        """Places of those not flown yet, the next first."""
        open_ = [k for k in range(len(self.kinds)) if k not in self._flown]
        return tuple(sorted(open_, key=lambda k: (k != self._chosen, k)))

    @property
    def next(self) -> int | None:
        """The one chosen, else the first of the plan that was not flown; None when all were."""
        return self.left[0] if self.left else None

    def place(self, kind: str) -> int | None:
        """Where one of this kind that is being flown stands: the next of them, else the last; None: not planned."""
        same = [k for k, one in enumerate(self.kinds) if one == kind]
        return next((k for k in self.left if k in same), same[-1] if same else None)

    def flown(self, kind: str) -> None:
        """One of this kind has ended; what comes before it in the plan stays to be flown."""
        at = self.place(kind)
        if at is not None:
            self._flown.add(at)

    def choose(self, index: int) -> None:
        """The instructor takes this one next. One that was flown, or is none, changes nothing."""
        if index in self.left:
            self._chosen = index
