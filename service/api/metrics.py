"""What is counted and timed, in a registry of our own."""

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, generate_latest

BUCKETS = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0)


class Metrics:
    """The counters of one application."""

    def __init__(self) -> None:
        self.registry = CollectorRegistry()
        self.requests = Counter(
            "glycol_fleet_http_requests",
            "Requests answered, by method, route and status",
            ["method", "route", "status"],
            registry=self.registry,
        )
        self.durations = Histogram(
            "glycol_fleet_http_request_duration_seconds",
            "Time from the request's first handling to its answer",
            ["method", "route"],
            buckets=BUCKETS,
            registry=self.registry,
        )
        self.refusals = Counter(
            "glycol_fleet_http_refusals",
            "Requests refused and connections dropped by the server itself, by kind",
            ["kind"],
            registry=self.registry,
        )
        self.visits_posted = Counter(
            "glycol_fleet_visits_posted", "Visits stored since the start", registry=self.registry
        )
        self.due_refreshed = Gauge(
            "glycol_fleet_due_refresh_timestamp_seconds",
            "When the daily refresh of due items last finished, 0 before the first",
            registry=self.registry,
        )

    def answered(self, method: str, route: str, *, status: int, seconds: float) -> None:
        """Count one answer."""
        self.requests.labels(method, route, status).inc()
        self.durations.labels(method, route).observe(seconds)

    def refused(self, kind: str) -> None:
        """Count what the server itself refused or dropped."""
        self.refusals.labels(kind).inc()

    def text(self) -> bytes:
        """All figures in the Prometheus text format, version 0.0.4."""
        return generate_latest(self.registry)
