"""A request's body is counted as it comes in, so that a sender who names no length can't fill the disk."""

from __future__ import annotations

from starlette.types import ASGIApp, Message, Receive, Scope, Send


class BodyLimit:
    """Refuses bodies larger than `most_bytes`: by the length named, else as they come in."""

    def __init__(self, app: ASGIApp, most_bytes: int) -> None:
        self.app, self.most_bytes = app, most_bytes

    @property
    def _said(self) -> str:
        return f"Too large: at most {self.most_bytes // 1_000_000} MB."

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        named = dict(scope["headers"]).get(b"content-length")
        if named is not None and (not named.isdigit() or int(named) > self.most_bytes):
            await self._refuse(send)
            return
        taken, begun, refused = 0, False, False

        async def counted() -> Message:
            """The next part; past the limit the sender seems to have hung up, so that nobody reads on."""
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            return {"type": "http.disconnect"} if taken > self.most_bytes else message

        async def noted(message: Message) -> None:
            """What the application answers; past the limit the refusal instead."""
            nonlocal begun, refused
            if taken > self.most_bytes and not begun:
                if not refused:
                    refused = True
                    await self._refuse(send)
                return
            begun = True
            await send(message)

        await self.app(scope, counted, noted)
        if taken > self.most_bytes and not begun and not refused:
            await self._refuse(send)

    async def _refuse(self, send: Send) -> None:
        text = self._said.encode()
        headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(text)).encode()),
                   (b"connection", b"close")]  # fmt: skip
        await send({"type": "http.response.start", "status": 413, "headers": headers})
        await send({"type": "http.response.body", "body": text})
