"""Care: what is due at a box, when and why; which nudges to plan."""

from boxside.core.care.dues import due_by, dues, next_on, pressing, rank
from boxside.core.care.nudges import PLAN_DAYS, plan, plan_json
from boxside.core.care.posted import digest_id
from boxside.core.care.prey_batch import prey_batch_dues
from boxside.core.care.tasks import TASKS, Task, task_label
from boxside.core.care.why import decisive, is_late, when, why

__all__ = [
    "PLAN_DAYS",
    "TASKS",
    "Task",
    "decisive",
    "digest_id",
    "due_by",
    "dues",
    "is_late",
    "next_on",
    "plan",
    "plan_json",
    "pressing",
    "prey_batch_dues",
    "rank",
    "task_label",
    "when",
    "why",
]
