"""The colony's double entry: what each event moves between boxes, stages and the outside.

Every event's postings add up to zero, so the identity initial + in = present + out + dead +
unaccounted holds at every moment. The fold is total: it never refuses; what leaves beyond what was
expected opens a derived surplus and a flag, and only the entry form refuses, in front of the keeper.
"""

from boxside.core.ledger.apportion import apportion
from boxside.core.ledger.effective import Standing, standings
from boxside.core.ledger.fold import Fold, Folded, Ledger, fold_all
from boxside.core.ledger.passages import End, Passage
from boxside.core.ledger.totals import Totals, totals
from boxside.core.ledger.touched import box_of, order_key, touched_boxes
from boxside.core.ledger.walk import Entry, walk

__all__ = [
    "End",
    "Entry",
    "Fold",
    "Folded",
    "Ledger",
    "Passage",
    "Standing",
    "Totals",
    "apportion",
    "box_of",
    "fold_all",
    "order_key",
    "standings",
    "totals",
    "touched_boxes",
    "walk",
]
