"""A simulator of glycol units with planted faults: visits with the truth beside them.

Its physics is its own: no formula, limit or table of `service/domain` is used, so that an error there is not
repeated here.
"""
