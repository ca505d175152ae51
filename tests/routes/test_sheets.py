"""The printed pages over HTTP, and fills that come back from paper."""

from __future__ import annotations

import json
from pathlib import Path

import farms
from houses import RIG, home, square


def test_a_sheet_and_a_slip_are_pages_that_the_policy_lets_be_styled(tmp_path: Path) -> None:
    with home(tmp_path, locked=False) as made:
        client = made.client()
        id_ = made.farm.save_paddock(None, square(), None).id
        made.farm.save_rig(None, RIG, None)
        paths = (f"/sheet/{id_}?season=2026", f"/sheet/{id_}", "/slip/2026-05-01")
        for path in (*paths, f"/handover/{id_}", f"/handover/{id_}?season=2026"):
            answer = client.get(path)
            assert (answer.status_code, answer.mimetype) == (200, "text/html"), path
            assert '<link rel="stylesheet" href="/papers/paper.css">' in answer.text
            assert "style-src 'self'" in answer.headers["Content-Security-Policy"]
            assert answer.headers["Cache-Control"] == "no-store"
        assert "Tin Kettle" in client.get(f"/sheet/{id_}").text
        assert "Long drill" in client.get(f"/sheet/{id_}").text
        style = client.get("/papers/paper.css")
        assert (style.status_code, style.mimetype) == (200, "text/css")
        assert "@page" in style.text


def test_there_is_no_sheet_of_a_paddock_that_is_not_there(tmp_path: Path) -> None:
    with home(tmp_path, locked=False) as made:
        assert made.client().get("/sheet/nowhere?season=2026").status_code == 404
        assert made.client().get("/handover/nowhere").status_code == 404
        assert made.client().get("/slip/yesterday").status_code == 400


def test_a_sheet_is_for_who_may_look_and_the_style_for_everybody(tmp_path: Path) -> None:
    with home(tmp_path) as made:
        id_ = made.farm.save_paddock(None, square(), None).id
        assert made.client().get(f"/sheet/{id_}").status_code == 401
        assert made.desk().get(f"/sheet/{id_}").status_code == 200
        assert made.client().get(f"/handover/{id_}").status_code == 401
        assert made.desk().get(f"/handover/{id_}").status_code == 200
        assert made.client().get("/papers/paper.css").status_code == 200


def test_fills_from_paper_become_entries_of_the_desk(tmp_path: Path) -> None:
    with home(tmp_path, locked=False) as made:
        client = made.client()
        names = [column["name"] for column in client.get("/api/fills").get_json()]
        assert names == ["time", "seed_kg", "fertiliser_kg", "fuel_l", "place", "driver"]
        rows = [dict(zip(names, ("14:20", 2400, 2150, "", "gate", "night"), strict=True)), {}]
        answer = client.post(
            "/api/fills", json={"day": "2026-05-14", "rows": rows}, headers=made.origin
        )
        assert answer.status_code == 201
        assert len(answer.get_json()["seq"]) == 2
        bad = client.post(
            "/api/fills",
            json={"day": "2026-05-14", "rows": [{"time": "noon"}]},
            headers=made.origin,
        )
        assert bad.status_code == 422
        assert bad.get_json()["error"]["where"] == "row 1"


def test_a_track_carried_in_twice_changes_nothing_and_leaves_as_open_files(
    tmp_path: Path,
) -> None:
    gpx = (Path(__file__).resolve().parents[2] / "sample_tracks/stone-pile/track.gpx").read_bytes()
    with home(tmp_path, locked=False) as made:
        client = made.client()

        def bring() -> dict[str, object]:
            import io

            answer = client.post(
                "/api/carry/in",
                data={"file": (io.BytesIO(gpx), "..\\evil/../day one.gpx")},
                headers=made.origin,
            )
            assert answer.status_code == 201
            found: dict[str, object] = answer.get_json()
            return found

        first, again = bring(), bring()
        assert first["name"] == "day one.gpx"
        assert first["kept"] == again["again"]
        assert again["kept"] == 0
        answer = client.get("/api/carry/out/log.jsonl?season=2026")
        assert answer.status_code == 200
        assert len(answer.data.splitlines()) == first["kept"]
        assert answer.headers["Content-Disposition"] == "attachment; filename=farm-2026-log.jsonl"
        for name in ("track.gpx", "ground.geojson", "patches.csv", "runs.csv"):
            assert client.get(f"/api/carry/out/{name}?season=2026").status_code == 400, name
            gone = client.get(f"/api/carry/out/{name}?season=2026&paddock=none")
            assert gone.status_code == 404, name
        assert client.get("/api/carry/out/secrets.db?season=2026").status_code == 404


def test_fills_to_the_same_mark_say_so_in_the_log(tmp_path: Path) -> None:
    with home(tmp_path, locked=False) as made:
        rows = [{"time": "14:20", "seed_kg": 2400}]
        given = {"day": "2026-05-14", "rows": rows, "same_mark": True}
        seq = made.client().post("/api/fills", json=given, headers=made.origin).get_json()["seq"]
        (line,) = [farms.lines_held(made.farm, made.farm.desk)[n] for n in seq]
        assert json.loads(line)["same_mark"] is True
