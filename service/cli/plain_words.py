"""What records and tables are called in what a command prints."""

RECORDS: dict[str, tuple[str, str]] = {
    "audit_entry": ("entry of the audit trail", "entries of the audit trail"),
    "company": ("company", "companies"),
    "customer": ("customer", "customers"),
    "technician": ("technician", "technicians"),
    "site": ("site", "sites"),
    "unit": ("unit", "units"),
    "former_tag": ("former tag", "former tags"),
    "location": ("location of a unit", "locations of units"),
    "change": ("dated change", "dated changes"),
    "learned": ("day of learned figures", "days of learned figures"),
    "task": ("task setting", "task settings"),
    "unit_task": ("task setting of a unit", "task settings of units"),
    "first_date": ("first date of a task", "first dates of tasks"),
    "travel_time": ("travel time", "travel times"),
    "van_movement": ("movement of a van's stock", "movements of vans' stock"),
    "pause": ("pause of a unit", "pauses of units"),
    "closure": ("closure of a site", "closures of sites"),
    "call": ("call", "calls"),
    "assignment": ("assignment", "assignments"),
    "attendance": ("attendance", "attendances"),
    "visit": ("visit", "visits"),
    "correction": ("correction of a visit", "corrections of visits"),
    "void": ("voided visit", "voided visits"),
    "unvoid": ("void taken back", "voids taken back"),
    "photo": ("photo", "photos"),
    "visit_move": ("visit moved to another unit", "visits moved to other units"),
    "baseline": ("day of failure rates", "days of failure rates"),
    "root_cause": ("root cause", "root causes"),
    "issue": ("issued document", "issued documents"),
    "answer": ("answer kept for a repeated post", "answers kept for repeated posts"),
    "version": ("version", "versions"),
    "last_id": ("last number given out", "last numbers given out"),
    "token": ("token", "tokens"),
}
TABLES: dict[str, str] = {
    **{name: many for name, (_, many) in RECORDS.items()},
    "audit": "entries of the audit trail",
    "audit_chain": "hashes of the audit trail",
    "component": "components of units",
    "due_item": "due items",
    "failure_statistics": "units' failures in figures",
    "job_done": "daily jobs done",
    "learned_figures": "days of learned figures",
    "observation": "observations",
    "reading": "readings",
    "replacement": "replacements",
    "session": "signed-in browsers",
    "sign_in_link": "sign-in links",
    "task_result": "task results",
    "task_setting": "task settings",
    "unit_task_setting": "task settings of units",
    "unit_year": "years of units for letters",
    "visit_call": "calls answered by visits",
}


def counted(kind: str, count: int) -> str:
    """So many records of a kind.

    >>> counted("audit_entry", 1), counted("audit_entry", 2)
    ('1 entry of the audit trail', '2 entries of the audit trail')
    """
    one, many = RECORDS[kind]
    return f"{count} {one if count == 1 else many}"
