"""The debrief's page asks for the ground's elevation where a height above it was to be judged, and takes it."""

from __future__ import annotations


def test_the_page_asks_for_the_elevation_where_it_is_not_known_and_takes_it(alone, short_csv: bytes) -> None:
    """Cut to what was flown high up nothing says where the ground is; told, it is judged; nonsense is refused."""
    lines = short_csv.decode().splitlines()
    high = "\n".join([lines[0], *lines[1 + len(lines) // 3 : 2 * len(lines) // 3]]).encode()
    sent = alone.post("/debriefs", {"airplane": "larkmoor_155"}, files={"recording": ("flight.csv", high)})
    at = sent.headers["location"]
    wanted = any(
        c["quantity"] == "agl" and c["verdict"] == "can't be judged"
        for e in alone.get(f"{at}.json").json()["episodes"] for c in e["criteria"]
    )  # fmt: skip
    assert ("How high is the ground there?" in alone.get(at).text) == wanted
    assert alone.post(f"{at}/elevation", {"elevation": "high"}).status_code == 422
    assert alone.post(f"{at}/elevation", {"elevation": "820 ft"}).status_code == 303
    page = alone.get(at).text
    assert "Heights above ground are from the 820 ft told" in page
    assert "How high is the ground there?" not in page
