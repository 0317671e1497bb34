"""The page at each screen's own address: the framework's, told where its server is and when to ask for more.

Left to itself it asks for its server below the address first (/gaps/...), is told that nothing is there, and waits a
tenth of a second before it asks beside it.
"""

from pathlib import Path

import streamlit
from starlette.requests import Request
from starlette.responses import HTMLResponse
from starlette.routing import Route

SERVER_IS_HERE = "<script>window.__streamlit = {BACKEND_BASE_URL: window.location.origin}</script>"


def screen_pages(dashboard: Path) -> list[Route]:
    """A route for each screen in the dashboard's folder, named after its file, and one for the first of them.

    With each comes the script that asks for the rest of a screen once it is wanted.
    """
    page = (Path(streamlit.__file__).parent / "static" / "index.html").read_text(encoding="utf-8")
    script = (dashboard / "frame" / "rest_of_screen.js").read_text(encoding="utf-8")
    page = page.replace("<head>", f"<head>{SERVER_IS_HERE}<script>{script}</script>", 1)

    async def answer(_: Request) -> HTMLResponse:
        return HTMLResponse(page, headers={"Cache-Control": "no-cache"})

    return [Route("/", answer), *(Route(f"/{screen.stem}", answer) for screen in (dashboard / "screens").glob("*.py"))]
