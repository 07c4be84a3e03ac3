"""A model of the company's day, written from the guide and the API document and not from the code.

Random sequences over calls, visits, attendances, corrections, voids, moves of visits and units, pauses, closures, ends,
retirements, changes of tags, units put in the place of others, surroundings and closed days of sites, settings,
assignments, leave and passing time are played over HTTP. After each step every due item, the lists of today, of a past
day and of one to come, the units in service, and a unit's history and record must be the model's. At the end all
records are exported, imported into an empty database, and every answer must be the same: lists of past days and days to
come, histories, years.

`python -m tests.fleet_model --runs 300 --steps 50` is the long form; `--postgresql` plays on PostgreSQL. The short form
is in the ordinary run.
"""
