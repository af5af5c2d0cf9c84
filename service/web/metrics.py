"""Numbers about the running service, in a registry of its own."""

from __future__ import annotations

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, generate_latest

from service.application.ports import ShelfHealth

METHODS = frozenset(("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "QUERY", "OPTIONS"))
"""Methods with a label of their own; strangers share one, so that nobody can make labels without end."""
SECONDS = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0)


class Metrics:
    """Requests by route and status, how long they took, and the state of the rate books."""

    def __init__(self) -> None:
        """Make the registry."""
        self._registry = CollectorRegistry()
        self._requests = Counter(
            "http_requests", "Requests answered.", ("method", "route", "status"), registry=self._registry
        )
        self._seconds = Histogram(
            "http_request_seconds", "Time to answer.", ("route",), buckets=SECONDS, registry=self._registry
        )
        self._defects = Counter("quoted_defects", "Defects by what became of them.", ("status",), registry=self._registry)
        self._books = Gauge("rate_books", "Compiled rate books at hand.", registry=self._registry)
        self._degraded = Gauge("rate_books_degraded", "1 where the database did not answer.", registry=self._registry)
        self._age = Gauge("rate_books_age_seconds", "Since the database last answered.", registry=self._registry)

    def answered(self, method: str, route: str, status: int, seconds: float) -> None:
        """Count one request."""
        self._requests.labels(method if method in METHODS else "other", route, str(status)).inc()
        self._seconds.labels(route).observe(seconds)

    def quoted(self, status: str) -> None:
        """Count one defect."""
        self._defects.labels(status).inc()

    def page(self, health: ShelfHealth) -> bytes:
        """All numbers as text, the books as they stand now."""
        self._books.set(health.books)
        self._degraded.set(health.degraded)
        self._age.set(float("nan") if health.age_s is None else health.age_s)
        return generate_latest(self._registry)
