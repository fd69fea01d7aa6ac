"""Evidence: work cards, torque tools and calibrations, torques, measurements, checks and their answers.

Revision ID: 0002
Revises: 0001
"""

import sqlalchemy as sa
from alembic import op

from fleetlog.store.append_only import guard_ddl

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_TABLES = ("cards", "tools", "calibrations", "torques", "measurements", "checks", "answers")
_MAY_FILL = {"tools": ("retired_on", "end_writing_no")}


def upgrade() -> None:
    _make_tables()
    connection = op.get_bind()
    for table in _TABLES:
        columns = (
            [column["name"] for column in sa.inspect(connection).get_columns(table)]
            if table in _MAY_FILL
            else []
        )
        for statement in guard_ddl(connection.dialect.name, table, columns, _MAY_FILL.get(table, ())):
            connection.exec_driver_sql(statement)


def _make_tables() -> None:
    op.create_table(
        "cards",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("toml", sa.Text(), nullable=False),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_cards_writing_no"),
        sa.PrimaryKeyConstraint("name", "revision", name="pk_cards"),
    )
    op.create_table(
        "tools",
        sa.Column("tool_no", sa.Integer(), nullable=False),
        sa.Column("tool_id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("low", sa.Text(), nullable=False),
        sa.Column("high", sa.Text(), nullable=False),
        sa.Column("in_use_from_on", sa.Integer()),
        sa.Column("retired_on", sa.Integer()),
        sa.Column("calibrate_months", sa.Integer()),
        sa.Column("calibrate_cycles", sa.Integer()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.Column("end_writing_no", sa.Integer()),
        sa.CheckConstraint("calibrate_cycles >= 1", name="ck_tools_calibrate_cycles_least"),
        sa.CheckConstraint("calibrate_months >= 1", name="ck_tools_calibrate_months_least"),
        sa.ForeignKeyConstraint(["end_writing_no"], ["writings.writing_no"], name="fk_tools_end_writing_no"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_tools_writing_no"),
        sa.PrimaryKeyConstraint("tool_no", name="pk_tools"),
        sa.UniqueConstraint("tool_id", name="uq_tools_tool_id"),
    )
    op.create_table(
        "calibrations",
        sa.Column("calibration_no", sa.Integer(), nullable=False),
        sa.Column("calibration_id", sa.Text(), nullable=False),
        sa.Column("tool_id", sa.Text(), nullable=False),
        sa.Column("calibrated_on", sa.Integer(), nullable=False),
        sa.Column("certificate", sa.Text()),
        sa.Column("calibrated_by", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["tool_id"], ["tools.tool_id"], name="fk_calibrations_tool_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_calibrations_writing_no"),
        sa.PrimaryKeyConstraint("calibration_no", name="pk_calibrations"),
        sa.UniqueConstraint("calibration_id", name="uq_calibrations_calibration_id"),
    )
    op.create_index("ix_calibrations_tool_id", "calibrations", ["tool_id"])
    op.create_table(
        "torques",
        sa.Column("engine_no", sa.Integer(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("torque_id", sa.Text(), nullable=False),
        sa.Column("done_on", sa.Integer(), nullable=False),
        sa.Column("joint", sa.Text(), nullable=False),
        sa.Column("applied", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("visit_id", sa.Text()),
        sa.Column("entry_id", sa.Text()),
        sa.Column("sequence_no", sa.Integer()),
        sa.Column("pass_no", sa.Integer()),
        sa.Column("fasteners", sa.Integer()),
        sa.Column("target", sa.Text()),
        sa.Column("low", sa.Text()),
        sa.Column("high", sa.Text()),
        sa.Column("target_nm", sa.Text()),
        sa.Column("applied_nm", sa.Text()),
        sa.Column("threads", sa.Text()),
        sa.Column("tool_id", sa.Text()),
        sa.Column("card", sa.Text()),
        sa.Column("step", sa.Text()),
        sa.Column("note", sa.Text()),
        sa.Column("done_by", sa.Text()),
        sa.Column("checked_by", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint("fasteners >= 1", name="ck_torques_fasteners_least"),
        sa.CheckConstraint("pass_no >= 1", name="ck_torques_pass_no_least"),
        sa.CheckConstraint("sequence_no >= 1", name="ck_torques_sequence_no_least"),
        sa.ForeignKeyConstraint(["engine_no"], ["engines.engine_no"], name="fk_torques_engine_no"),
        sa.ForeignKeyConstraint(["entry_id"], ["entries.entry_id"], name="fk_torques_entry_id"),
        sa.ForeignKeyConstraint(["tool_id"], ["tools.tool_id"], name="fk_torques_tool_id"),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.visit_id"], name="fk_torques_visit_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_torques_writing_no"),
        sa.PrimaryKeyConstraint("engine_no", "sequence", name="pk_torques"),
        sa.UniqueConstraint("torque_id", name="uq_torques_torque_id"),
    )
    op.create_index("ix_torques_tool_id", "torques", ["tool_id"])
    op.create_table(
        "measurements",
        sa.Column("engine_no", sa.Integer(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("measurement_id", sa.Text(), nullable=False),
        sa.Column("done_on", sa.Integer(), nullable=False),
        sa.Column("item", sa.Text(), nullable=False),
        sa.Column("quantity", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text()),
        sa.Column("stage", sa.Text()),
        sa.Column("visit_id", sa.Text()),
        sa.Column("entry_id", sa.Text()),
        sa.Column("position", sa.Text()),
        sa.Column("low", sa.Text()),
        sa.Column("high", sa.Text()),
        sa.Column("card", sa.Text()),
        sa.Column("step", sa.Text()),
        sa.Column("note", sa.Text()),
        sa.Column("done_by", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint("stage IN ('found', 'left')", name="ck_measurements_stage_known"),
        sa.ForeignKeyConstraint(["engine_no"], ["engines.engine_no"], name="fk_measurements_engine_no"),
        sa.ForeignKeyConstraint(["entry_id"], ["entries.entry_id"], name="fk_measurements_entry_id"),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.visit_id"], name="fk_measurements_visit_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_measurements_writing_no"),
        sa.PrimaryKeyConstraint("engine_no", "sequence", name="pk_measurements"),
        sa.UniqueConstraint("measurement_id", name="uq_measurements_measurement_id"),
    )
    op.create_table(
        "checks",
        sa.Column("engine_no", sa.Integer(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("check_id", sa.Text(), nullable=False),
        sa.Column("done_on", sa.Integer(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("result", sa.Text(), nullable=False),
        sa.Column("visit_id", sa.Text()),
        sa.Column("card", sa.Text()),
        sa.Column("card_revision", sa.Integer()),
        sa.Column("step", sa.Text()),
        sa.Column("counted", sa.Integer()),
        sa.Column("out_of", sa.Integer()),
        sa.Column("reason", sa.Text()),
        sa.Column("done_by", sa.Text()),
        sa.Column("checked_by", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint("counted >= 0", name="ck_checks_counted_least"),
        sa.CheckConstraint("out_of >= 0", name="ck_checks_out_of_least"),
        sa.CheckConstraint(
            "result IN ('done', 'failed', 'not done', 'not applicable')", name="ck_checks_result_known"
        ),
        sa.ForeignKeyConstraint(["engine_no"], ["engines.engine_no"], name="fk_checks_engine_no"),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.visit_id"], name="fk_checks_visit_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_checks_writing_no"),
        sa.PrimaryKeyConstraint("engine_no", "sequence", name="pk_checks"),
        sa.UniqueConstraint("check_id", name="uq_checks_check_id"),
    )
    op.create_table(
        "answers",
        sa.Column("engine_no", sa.Integer(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("answer_id", sa.Text(), nullable=False),
        sa.Column("answered_on", sa.Integer(), nullable=False),
        sa.Column("outcome", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("answered_by", sa.Text(), nullable=False),
        sa.Column("torque_id", sa.Text()),
        sa.Column("measurement_id", sa.Text()),
        sa.Column("check_id", sa.Text()),
        sa.Column("writing_no", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "outcome IN ('put right', 'left as it is', 'entered wrong')", name="ck_answers_outcome_known"
        ),
        sa.ForeignKeyConstraint(["check_id"], ["checks.check_id"], name="fk_answers_check_id"),
        sa.ForeignKeyConstraint(["engine_no"], ["engines.engine_no"], name="fk_answers_engine_no"),
        sa.ForeignKeyConstraint(
            ["measurement_id"], ["measurements.measurement_id"], name="fk_answers_measurement_id"
        ),
        sa.ForeignKeyConstraint(["torque_id"], ["torques.torque_id"], name="fk_answers_torque_id"),
        sa.ForeignKeyConstraint(["writing_no"], ["writings.writing_no"], name="fk_answers_writing_no"),
        sa.PrimaryKeyConstraint("engine_no", "sequence", name="pk_answers"),
        sa.UniqueConstraint("answer_id", name="uq_answers_answer_id"),
    )
    op.create_index("ix_answers_torque_id", "answers", ["torque_id"])
    op.create_index("ix_answers_measurement_id", "answers", ["measurement_id"])
    op.create_index("ix_answers_check_id", "answers", ["check_id"])


def downgrade() -> None:
    for table in reversed(_TABLES):
        op.drop_table(table)
