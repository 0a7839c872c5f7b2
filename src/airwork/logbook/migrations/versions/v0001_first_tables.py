"""First tables: people, airplanes, places, flights, recordings, debriefs, marks, endorsements, dates, notes."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make every table of the first logbook."""
    op.create_table(
        "airplane",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("registration", sa.Text(), nullable=False),
        sa.Column("make_model", sa.Text(), nullable=False),
        sa.Column("airplane_file", sa.Text(), nullable=False),
        sa.Column("category", sa.Text(), nullable=False),
        sa.Column("aircraft_class", sa.Text(), nullable=False),
        sa.Column("tailwheel", sa.Boolean(), nullable=False),
        sa.Column("complex", sa.Boolean(), nullable=False),
        sa.Column("high_performance", sa.Boolean(), nullable=False),
        sa.Column("technically_advanced", sa.Boolean(), nullable=False),
        sa.Column("changed_utc_s", sa.Double(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_airplane")),
        sa.UniqueConstraint("registration", name=op.f("uq_airplane_registration")),
    )
    op.create_table(
        "person",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("is_student", sa.Boolean(), nullable=False),
        sa.Column("is_instructor", sa.Boolean(), nullable=False),
        sa.Column("born_on", sa.Date(), nullable=True),
        sa.Column("certificate_held", sa.Text(), nullable=False),
        sa.Column("certificate_aimed", sa.Text(), nullable=False),
        sa.Column("authority", sa.Text(), nullable=False),
        sa.Column("time_zone", sa.Text(), nullable=False),
        sa.Column("contact", sa.Text(), nullable=False),
        sa.Column("certificate_number", sa.Text(), nullable=False),
        sa.Column("changed_utc_s", sa.Double(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
    )
    op.create_index(op.f("ix_person_name"), "person", ["name"], unique=False)
    op.create_table(
        "place",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("ident", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("latitude_rad", sa.Double(), nullable=True),
        sa.Column("longitude_rad", sa.Double(), nullable=True),
        sa.Column("elevation_m", sa.Double(), nullable=True),
        sa.Column("time_zone", sa.Text(), nullable=False),
        sa.Column("towered", sa.Boolean(), nullable=True),
        sa.Column("changed_utc_s", sa.Double(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_place")),
        sa.UniqueConstraint("ident", name=op.f("uq_place_ident")),
    )
    op.create_table(
        "recording",
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("file_name", sa.Text(), nullable=False),
        sa.Column("format", sa.Text(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("added_utc_s", sa.Double(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_recording")),
    )
    op.create_table(
        "removed",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("utc_s", sa.Double(), nullable=False),
        sa.Column("keep_until", sa.Date(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_removed")),
    )
    op.create_table(
        "dated",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("on_date", sa.Date(), nullable=False),
        sa.Column("expires_on", sa.Date(), nullable=True),
        sa.Column("remark", sa.Text(), nullable=False),
        sa.Column("utc_s", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_dated_person_id_person"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_dated")),
    )
    op.create_index(op.f("ix_dated_person_id_kind"), "dated", ["person_id", "kind"], unique=False)
    op.create_table(
        "endorsement",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("student_id", sa.String(length=32), nullable=False),
        sa.Column("instructor_id", sa.String(length=32), nullable=True),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("given_on", sa.Date(), nullable=False),
        sa.Column("expires_on", sa.Date(), nullable=True),
        sa.Column("make_model", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("result", sa.Text(), nullable=False),
        sa.Column("utc_s", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(
            ["instructor_id"], ["person.id"], name=op.f("fk_endorsement_instructor_id_person"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["student_id"], ["person.id"], name=op.f("fk_endorsement_student_id_person"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_endorsement")),
    )
    op.create_index(op.f("ix_endorsement_student_id_kind"), "endorsement", ["student_id", "kind"], unique=False)
    op.create_table(
        "lesson",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("student_id", sa.String(length=32), nullable=False),
        sa.Column("instructor_id", sa.String(length=32), nullable=True),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("planned_utc_s", sa.Double(), nullable=True),
        sa.Column("lesson_file", sa.Text(), nullable=False),
        sa.Column("briefing_json", sa.Text(), nullable=False),
        sa.Column("changed_utc_s", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(
            ["instructor_id"], ["person.id"], name=op.f("fk_lesson_instructor_id_person"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["student_id"], ["person.id"], name=op.f("fk_lesson_student_id_person"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lesson")),
    )
    op.create_index(op.f("ix_lesson_student_id_planned_utc_s"), "lesson", ["student_id", "planned_utc_s"], unique=False)
    op.create_table(
        "recording_bytes",
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("packing", sa.Text(), nullable=False),
        sa.Column("original", sa.LargeBinary(), nullable=False),
        sa.Column("columns_parquet", sa.LargeBinary(), nullable=True),
        sa.Column("facts_json", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["sha256"], ["recording.sha256"], name=op.f("fk_recording_bytes_sha256_recording"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_recording_bytes")),
    )
    op.create_table(
        "flight",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("pilot_id", sa.String(length=32), nullable=True),
        sa.Column("instructor_id", sa.String(length=32), nullable=True),
        sa.Column("airplane_id", sa.String(length=32), nullable=True),
        sa.Column("lesson_id", sa.String(length=32), nullable=True),
        sa.Column("recording_sha256", sa.String(length=64), nullable=False),
        sa.Column("start_utc_s", sa.Double(), nullable=True),
        sa.Column("end_utc_s", sa.Double(), nullable=True),
        sa.Column("local_date", sa.Date(), nullable=False),
        sa.Column("time_zone", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("remarks", sa.Text(), nullable=False),
        sa.Column("total_s", sa.Double(), nullable=False),
        sa.Column("dual_s", sa.Double(), nullable=False),
        sa.Column("solo_s", sa.Double(), nullable=False),
        sa.Column("pic_s", sa.Double(), nullable=False),
        sa.Column("cross_country_s", sa.Double(), nullable=False),
        sa.Column("night_s", sa.Double(), nullable=False),
        sa.Column("instrument_actual_s", sa.Double(), nullable=False),
        sa.Column("instrument_simulated_s", sa.Double(), nullable=False),
        sa.Column("test_preparation_s", sa.Double(), nullable=False),
        sa.Column("ground_training_s", sa.Double(), nullable=False),
        sa.Column("passengers", sa.Integer(), nullable=False),
        sa.Column("sole_manipulator", sa.Boolean(), nullable=False),
        sa.Column("distance_m", sa.Double(), nullable=True),
        sa.Column("farthest_landing_m", sa.Double(), nullable=True),
        sa.Column("longest_leg_m", sa.Double(), nullable=True),
        sa.Column("landing_points", sa.Integer(), nullable=True),
        sa.Column("full_stop_points", sa.Integer(), nullable=True),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("signed_by_id", sa.String(length=32), nullable=True),
        sa.Column("signed_utc_s", sa.Double(), nullable=True),
        sa.Column("changed_utc_s", sa.Double(), nullable=False),
        sa.CheckConstraint("role IN ('dual', 'solo', 'pic')", name=op.f("ck_flight_role")),
        sa.CheckConstraint("cross_country_s <= total_s AND night_s <= total_s", name=op.f("ck_flight_conditions")),
        sa.CheckConstraint("dual_s <= total_s AND solo_s <= total_s AND pic_s <= total_s", name=op.f("ck_flight_who")),
        sa.CheckConstraint(
            "total_s >= 0 AND dual_s >= 0 AND solo_s >= 0 AND pic_s >= 0", name=op.f("ck_flight_not_negative")
        ),
        sa.ForeignKeyConstraint(
            ["airplane_id"], ["airplane.id"], name=op.f("fk_flight_airplane_id_airplane"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["instructor_id"], ["person.id"], name=op.f("fk_flight_instructor_id_person"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["lesson_id"], ["lesson.id"], name=op.f("fk_flight_lesson_id_lesson"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(
            ["pilot_id"], ["person.id"], name=op.f("fk_flight_pilot_id_person"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["signed_by_id"], ["person.id"], name=op.f("fk_flight_signed_by_id_person"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_flight")),
    )
    op.create_index(op.f("ix_flight_airplane_id"), "flight", ["airplane_id"], unique=False)
    op.create_index(
        op.f("ix_flight_instructor_id_start_utc_s"), "flight", ["instructor_id", "start_utc_s"], unique=False
    )
    op.create_index(op.f("ix_flight_pilot_id_local_date"), "flight", ["pilot_id", "local_date"], unique=False)
    op.create_index(
        op.f("ix_flight_pilot_id_recording_sha256"),
        "flight",
        ["pilot_id", "recording_sha256"],
        unique=True,
        sqlite_where=sa.text("recording_sha256 <> ''"),
        postgresql_where=sa.text("recording_sha256 <> ''"),
    )
    op.create_index(op.f("ix_flight_recording_sha256"), "flight", ["recording_sha256"], unique=False)
    op.create_table(
        "debrief",
        sa.Column("flight_id", sa.String(length=32), nullable=False),
        sa.Column("content_sha256", sa.String(length=64), nullable=False),
        sa.Column("debrief_json", sa.Text(), nullable=False),
        sa.Column("standard_name", sa.Text(), nullable=False),
        sa.Column("standard_edition", sa.Text(), nullable=False),
        sa.Column("program_version", sa.Text(), nullable=False),
        sa.Column("imported_utc_s", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(
            ["flight_id"], ["flight.id"], name=op.f("fk_debrief_flight_id_flight"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("flight_id", name=op.f("pk_debrief")),
    )
    op.create_index(op.f("ix_debrief_content_sha256"), "debrief", ["content_sha256"], unique=False)
    op.create_table(
        "episode",
        sa.Column("flight_id", sa.String(length=32), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("start_s", sa.Double(), nullable=False),
        sa.Column("end_s", sa.Double(), nullable=False),
        sa.Column("confidence", sa.Double(), nullable=True),
        sa.Column("wind_mps", sa.Double(), nullable=True),
        sa.Column("target_json", sa.Text(), nullable=False),
        sa.Column("measured_json", sa.Text(), nullable=False),
        sa.Column("causes_json", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["flight_id"], ["flight.id"], name=op.f("fk_episode_flight_id_flight"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("flight_id", "position", name=op.f("pk_episode")),
    )
    op.create_index(op.f("ix_episode_kind"), "episode", ["kind"], unique=False)
    op.create_table(
        "mark",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("student_id", sa.String(length=32), nullable=False),
        sa.Column("flight_id", sa.String(length=32), nullable=True),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("episode_position", sa.Integer(), nullable=True),
        sa.Column("given_by", sa.Text(), nullable=False),
        sa.Column("by_id", sa.String(length=32), nullable=True),
        sa.Column("level", sa.Text(), nullable=False),
        sa.Column("remark", sa.Text(), nullable=False),
        sa.Column("utc_s", sa.Double(), nullable=False),
        sa.CheckConstraint("given_by IN ('instructor', 'student')", name=op.f("ck_mark_given_by")),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_mark_by_id_person"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(
            ["flight_id"], ["flight.id"], name=op.f("fk_mark_flight_id_flight"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["student_id"], ["person.id"], name=op.f("fk_mark_student_id_person"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mark")),
    )
    op.create_index(op.f("ix_mark_flight_id"), "mark", ["flight_id"], unique=False)
    op.create_index(op.f("ix_mark_student_id_kind_utc_s"), "mark", ["student_id", "kind", "utc_s"], unique=False)
    op.create_table(
        "movement",
        sa.Column("flight_id", sa.String(length=32), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("utc_s", sa.Double(), nullable=True),
        sa.Column("full_stop", sa.Boolean(), nullable=False),
        sa.Column("night", sa.Boolean(), nullable=False),
        sa.Column("late_night", sa.Boolean(), nullable=False),
        sa.Column("towered", sa.Boolean(), nullable=False),
        sa.CheckConstraint("what IN ('takeoff', 'landing')", name=op.f("ck_movement_what")),
        sa.CheckConstraint("number >= 0", name=op.f("ck_movement_number")),
        sa.ForeignKeyConstraint(
            ["flight_id"], ["flight.id"], name=op.f("fk_movement_flight_id_flight"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("flight_id", "position", name=op.f("pk_movement")),
    )
    op.create_table(
        "note",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("flight_id", sa.String(length=32), nullable=True),
        sa.Column("by_id", sa.String(length=32), nullable=True),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("for_instructors", sa.Boolean(), nullable=False),
        sa.Column("utc_s", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_note_by_id_person"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(
            ["flight_id"], ["flight.id"], name=op.f("fk_note_flight_id_flight"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_note_person_id_person"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_note")),
    )
    op.create_index(op.f("ix_note_person_id_utc_s"), "note", ["person_id", "utc_s"], unique=False)
    op.create_table(
        "stop",
        sa.Column("flight_id", sa.String(length=32), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("place_id", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(
            ["flight_id"], ["flight.id"], name=op.f("fk_stop_flight_id_flight"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_stop_place_id_place"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("flight_id", "position", name=op.f("pk_stop")),
    )
    op.create_index(op.f("ix_stop_place_id"), "stop", ["place_id"], unique=False)
    op.create_table(
        "criterion",
        sa.Column("flight_id", sa.String(length=32), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("limit_text", sa.Text(), nullable=False),
        sa.Column("worst", sa.Double(), nullable=True),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("limit_ratio", sa.Double(), nullable=True),
        sa.Column("within_fraction", sa.Double(), nullable=True),
        sa.Column("verdict", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["flight_id", "position"],
            ["episode.flight_id", "episode.position"],
            name=op.f("fk_criterion_flight_id_episode"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("flight_id", "position", "number", name=op.f("pk_criterion")),
    )
    if op.get_bind().dialect.name == "postgresql":
        # Recordings are packed already: PostgreSQL need not try to squeeze them again, which takes a second.
        for column in ("original", "columns_parquet"):
            op.execute(f"ALTER TABLE recording_bytes ALTER COLUMN {column} SET STORAGE EXTERNAL")
