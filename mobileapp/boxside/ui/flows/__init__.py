"""Flows: acts that take more than one entry or end in a judgement, each with the sheets that it needs."""

from boxside.ui.flows.blending import blend
from boxside.ui.flows.clutch import lay
from boxside.ui.flows.counting import confirm, count
from boxside.ui.flows.marking import mark
from boxside.ui.flows.offers import flow_acts, flow_of
from boxside.ui.flows.stages import change
from boxside.ui.flows.stop import Stop
from boxside.ui.flows.transfers import move

FLOWS = {
    "blend": blend,
    "change": change,
    "confirm": confirm,
    "count": count,
    "lay": lay,
    "mark": mark,
    "move": move,
}

__all__ = ["FLOWS", "Stop", "flow_acts", "flow_of"]
