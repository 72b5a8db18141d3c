"""Two rule books, or two days of one, compared: which answers differ, for whom and from when.

`answers` asks a book everything, `apart` and `runs` find what differs and on which days, `groups`
gathers it, `words` tells it.
"""

from rules.compare.comparison import Comparison, compare

__all__ = ["Comparison", "compare"]
