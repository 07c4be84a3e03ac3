"""What the command line tells in one line instead of a traceback."""

from service.app import Refused
from service.domain.errors import DomainError
from service.settings import SettingsError

REFUSALS = (Refused, DomainError, SettingsError, OSError)
