"""The smallest application of FastAPI, with one route that answers nothing much."""

from fastapi import FastAPI

app = FastAPI()


@app.get("/livez")
async def live() -> dict[str, str]:
    """The process lives."""
    return {"status": "ok"}
