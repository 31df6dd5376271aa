"""Write a synthetic catalogue of any size: see `knockon.benchmarks.catalogues`.

python -m tests.benchmarks.catalogues --parts 10000 --generations 200 FOLDER
"""

from __future__ import annotations

import sys

from knockon.benchmarks.catalogues import (
    Question,
    Size,
    line_of,
    main,
    one_more_generation,
    questions,
    write,
)

__all__ = ["Question", "Size", "line_of", "one_more_generation", "questions", "write"]

if __name__ == "__main__":
    sys.exit(main())
