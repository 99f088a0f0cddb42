"""The service with one more route, which does nothing: behind the same door, limits and scopes as the answers."""

from fastapi import FastAPI, Response

from service.api import app as service_app

NO_OP = "/v1/no-op"


def create_app() -> FastAPI:
    """The service as it is configured, with the route."""
    app = service_app.create_app()

    @app.get(NO_OP, operation_id="read_drink_cost", response_model=None)  # it asks for the scopes of that operation
    async def nothing() -> Response:
        """Answers a constant."""
        return Response(b"{}", media_type="application/json")

    return app
