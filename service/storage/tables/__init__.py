"""The tables. Days and instants are fixed-width text that sorts, documents are JSON text, numbers are SI.

So nothing is converted between Python and either engine, and a statement runs as plain SQL. Every table that belongs to
a customer carries `customer_id`, so that the database can be distributed by customer.
"""

from service.storage.tables.access import answer, audit, audit_chain, change, token
from service.storage.tables.assignments import assignment
from service.storage.tables.attendances import attendance
from service.storage.tables.calls import call
from service.storage.tables.columns import metadata
from service.storage.tables.company import company
from service.storage.tables.fleet import component, customer, former_tag, location, site, technician, unit
from service.storage.tables.issues import issue
from service.storage.tables.moves import move
from service.storage.tables.photos import photo
from service.storage.tables.planning import (
    due_item,
    first_date,
    job_done,
    learned_figures,
    task_setting,
    travel_time,
    unit_task_setting,
    van_movement,
)
from service.storage.tables.root_causes import baseline, failure_statistics, root_cause
from service.storage.tables.sessions import session, sign_in_link
from service.storage.tables.unit_years import unit_year
from service.storage.tables.visits import correction, observation, reading, replacement, task_result, visit, visit_call

__all__ = [
    "answer",
    "assignment",
    "attendance",
    "audit",
    "audit_chain",
    "baseline",
    "call",
    "change",
    "company",
    "component",
    "correction",
    "customer",
    "due_item",
    "failure_statistics",
    "first_date",
    "former_tag",
    "issue",
    "job_done",
    "learned_figures",
    "location",
    "metadata",
    "move",
    "observation",
    "photo",
    "reading",
    "replacement",
    "root_cause",
    "session",
    "sign_in_link",
    "site",
    "task_result",
    "task_setting",
    "technician",
    "token",
    "travel_time",
    "unit",
    "unit_task_setting",
    "unit_year",
    "van_movement",
    "visit",
    "visit_call",
]
