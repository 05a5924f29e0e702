"""`soapstone open`: the bench on this machine, for one browser with the key of the address."""

import secrets
import socket
import webbrowser
from collections.abc import Callable
from pathlib import Path

import fontpkg_fira_sans
from fastapi import Response
from fastapi.responses import FileResponse, JSONResponse
from nicegui import app, ui

from soapstone.bench.bench import Bench
from soapstone.bench.desk import desk
from soapstone.bench.first import first_page
from soapstone.bench.floor import floor_data
from soapstone.bench.gate import Gate

HOST = "127.0.0.1"
FONTS = ("FiraSans-Regular", "FiraSans-SemiBold")


def free_port() -> int:
    """A port that nothing listens on."""
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        return int(probe.getsockname()[1])


def open_bench(
    path: Path | None, *, port: int = 0, show: bool = True, told: Callable[[str], None] = lambda address: None
) -> None:
    """Serve the bench until it is stopped.

    Parameters
    ----------
    path : the job's folder or file; None to choose an example or begin blank
    port : 0 for a free one
    show : open a browser
    told : called with the address once the bench answers

    Raises
    ------
    JobError
        There is no such job.
    """
    holder = Holder(Bench(path) if path is not None else None)
    port = port or free_port()
    key = secrets.token_urlsafe(24)
    address = f"http://{HOST}:{port}/?key={key}"
    _routes(holder)
    app.add_middleware(Gate, port=port, key=key)

    def ready() -> None:
        told(address)
        if show:
            webbrowser.open(address)

    app.on_startup(ready)
    app.on_shutdown(holder.close)
    ui.run(
        host=HOST,
        port=port,
        reload=False,
        show=False,
        title="Soapstone",
        show_welcome_message=False,
        tailwind=False,
    )


class Holder:
    """The bench that is served; none before a job is chosen."""

    def __init__(self, bench: Bench | None) -> None:
        self.bench = bench

    def take(self, path: Path) -> None:
        """Open a job."""
        self.bench = Bench(path)

    def close(self) -> None:
        """Stop building."""
        if self.bench is not None:
            self.bench.close()


def _routes(holder: Holder) -> None:
    @ui.page("/")
    def _index() -> None:
        if holder.bench is None:
            first_page(holder.take)
        else:
            desk(holder.bench)

    @app.get("/solids")
    def _solids() -> Response:
        answer = holder.bench.answer if holder.bench else None
        if answer is None:
            return JSONResponse({"things": [], "points": []})
        return JSONResponse(floor_data(answer.things, answer.build.layout.points))

    @app.get("/font/{name}")
    def _font(name: str) -> Response:
        if name not in FONTS:
            return Response(status_code=404)
        return FileResponse(next(Path(fontpkg_fira_sans.ROOT).glob(f"files/**/{name}.*")))

    @app.get("/sheets/{name:path}")
    def _sheet(name: str) -> Response:
        folder = holder.bench.packet_folder.resolve() if holder.bench else None
        file = (folder / name).resolve() if folder else None
        if folder is None or file is None or not file.is_relative_to(folder) or not file.is_file():
            return Response(status_code=404)
        return FileResponse(file)
