"""Rectangles in millimetres, measured from the top left, y downwards."""

from dataclasses import dataclass

SLACK_MM = 1e-6
"""Room for floating-point noise in comparisons; far under a printer dot (0.085 mm)."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle: its top-left corner and its size, all in millimetres."""

    x_mm: float
    y_mm: float
    w_mm: float
    h_mm: float

    @property
    def right_mm(self) -> float:
        """The x of the right edge."""
        return self.x_mm + self.w_mm

    @property
    def bottom_mm(self) -> float:
        """The y of the lower edge."""
        return self.y_mm + self.h_mm

    def moved(self, dx_mm: float, dy_mm: float) -> "Box":
        """The same box, shifted."""
        return Box(self.x_mm + dx_mm, self.y_mm + dy_mm, self.w_mm, self.h_mm)

    def inset(self, by_mm: float) -> "Box":
        """The box with `by_mm` taken off every side; negative values grow it."""
        return Box(
            self.x_mm + by_mm, self.y_mm + by_mm, self.w_mm - 2 * by_mm, self.h_mm - 2 * by_mm
        )

    def contains(self, other: "Box") -> bool:
        """Whether `other` lies wholly inside, edges included."""
        return (
            other.x_mm >= self.x_mm - SLACK_MM
            and other.y_mm >= self.y_mm - SLACK_MM
            and other.right_mm <= self.right_mm + SLACK_MM
            and other.bottom_mm <= self.bottom_mm + SLACK_MM
        )

    def overlaps(self, other: "Box") -> bool:
        """Whether the two share an area; touching edges don't count."""
        return (
            self.x_mm < other.right_mm - SLACK_MM
            and other.x_mm < self.right_mm - SLACK_MM
            and self.y_mm < other.bottom_mm - SLACK_MM
            and other.y_mm < self.bottom_mm - SLACK_MM
        )
