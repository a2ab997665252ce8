"""Somebody else's server: answers at once under /quick, after three seconds under /slow, and never under /silent.

It runs in a process of its own and prints its port.
"""

import asyncio
import sys

SLOW_S, SILENT_S = 3, 60
ANSWER = b"HTTP/1.1 204 No Content\r\nConnection: close\r\n\r\n"


async def answer(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    head = await reader.readuntil(b"\r\n\r\n")
    if head.startswith(b"POST /slow"):
        await asyncio.sleep(SLOW_S)
    elif head.startswith(b"POST /silent"):
        await asyncio.sleep(SILENT_S)
    writer.write(ANSWER)
    await writer.drain()
    writer.close()


async def main() -> None:
    server = await asyncio.start_server(answer, "127.0.0.1", 0, backlog=1_000)
    sys.stdout.write(f"{server.sockets[0].getsockname()[1]}\n")
    sys.stdout.flush()
    await server.serve_forever()


if __name__ == "__main__":
    asyncio.run(main())
