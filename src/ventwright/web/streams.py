"""What devices send, passed on to those who may look in: a list of channels, and their samples."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from dataclasses import asdict

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import StreamingResponse
from pydantic import BaseModel

from ventwright.actions.streams import StreamDesk, StreamSample
from ventwright.web.mistakes import problem_bodies

router = APIRouter(prefix="/api/streams")


class StreamBody(BaseModel):
    """A channel that can be heard; `station` is where its probe is mounted, if that is known."""

    device: str
    channel: str
    label: str
    dimension: str
    unit_of_measure: str
    station: str


def _desk(request: Request) -> StreamDesk:
    desk: StreamDesk = request.app.state.streams
    return desk


@router.get("")
def get_streams(request: Request) -> list[StreamBody]:
    """Channels of the devices that this machine listens to."""
    return [StreamBody(**asdict(line)) for line in _desk(request).lines]


@router.get(
    "/{device_id}/{channel_id}/events",
    response_class=StreamingResponse,
    responses={200: {"content": {"text/event-stream": {}}}},
)
async def get_samples(request: Request, device_id: str, channel_id: str) -> StreamingResponse:
    """Samples of a channel as they come (server-sent events).

    An event ``sample`` holds text, unit of measure and a time in seconds for differences; an event
    ``trouble`` says what keeps samples from coming. The device is listened to while somebody is
    connected here.
    """
    hub = _desk(request).hub(device_id, channel_id)
    if hub is None:
        raise HTTPException(404, "no device that is listened to has that channel")

    async def tell() -> AsyncIterator[str]:
        # Something at once: a browser counts as connected from the first byte on.
        yield ": listening\n\n"
        async for item in hub.listen(channel_id):
            if isinstance(item, StreamSample):
                yield f"event: sample\ndata: {json.dumps(asdict(item))}\n\n"
            else:
                (body,) = problem_bodies([item])
                yield f"event: trouble\ndata: {body.model_dump_json()}\n\n"

    return StreamingResponse(
        tell(), media_type="text/event-stream", headers={"cache-control": "no-store"}
    )
