"""Render icon.svg to the PNG sizes that an installable page needs: `python pwa/icons/render.py`."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import sync_playwright

HERE = Path(__file__).resolve().parent
PUBLIC = HERE.parent / "public"
# The maskable icon keeps its drawing inside the inner 80 %, which every mask shows.
SIZES = {"icon-192.png": (192, 0), "icon-512.png": (512, 0), "icon-maskable-512.png": (512, 51)}


def render() -> None:
    """Write the SVG and the PNGs into public/."""
    drawing = (HERE / "icon.svg").read_text(encoding="utf-8")
    (PUBLIC / "icon.svg").write_text(drawing, encoding="utf-8")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"]
        )
        for name, (size, margin) in SIZES.items():
            page = browser.new_page(viewport={"width": size, "height": size})
            ground = "#1f3347" if margin else "transparent"
            style = f"margin:0;background:{ground};padding:{margin}px;box-sizing:border-box"
            page.set_content(f"<body style='{style}'>{drawing}</body>")
            page.screenshot(path=str(PUBLIC / name), omit_background=True)
        browser.close()


if __name__ == "__main__":
    render()
