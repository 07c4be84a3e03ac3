"""The worker processes of one server."""

from service.api.computing import Computing
from service.processes import documents
from service.processes.documents import Documents
from service.processes.triage import Triage
from service.settings import Settings
from service.usecases.system import FleetDatabase


class Processes:
    """The pools of one server; `computing` is how its application uses them. Without `start` they start when used."""

    def __init__(self, database: FleetDatabase, settings: Settings) -> None:
        self._documents, self._triage = documents.pool(), Triage()
        document = Documents(self._documents, database, settings)
        self.computing = Computing(run=self._documents, document=document, weigh=self._triage)

    def start(self) -> None:
        """Start in the background what would be waited for."""
        self._triage.start()

    def close(self) -> None:
        """End all processes."""
        self._documents.close()
        self._triage.close()
