-- One archive for a shop of benches: what 100 daemons would send to it. A simulation, to measure; the program has no such archive.
-- The columns are those of a bench's own store, with the bench in front; times are UTC, lengths are in picometres.
CREATE TABLE session (
    bench smallint NOT NULL,
    id integer NOT NULL,
    name text NOT NULL,
    opened timestamptz NOT NULL,
    closed timestamptz NOT NULL,
    taper text NOT NULL,
    fixture text NOT NULL,
    verdict text NOT NULL,
    half_angle_error_arcsec double precision NOT NULL,
    expanded_arcsec double precision NOT NULL,
    setup jsonb NOT NULL,
    PRIMARY KEY (bench, id)
);
CREATE INDEX session_fixture ON session (fixture, opened);
CREATE TABLE mark (
    bench smallint NOT NULL,
    step integer NOT NULL,
    number integer NOT NULL,
    t_ns bigint NOT NULL,
    place text NOT NULL,
    round integer NOT NULL,
    clamped boolean NOT NULL,
    source text NOT NULL,
    hash bytea NOT NULL,
    PRIMARY KEY (bench, step, number)
);
CREATE TABLE reading (
    bench smallint NOT NULL,
    step integer NOT NULL,
    seq integer NOT NULL,
    t_ns bigint NOT NULL,
    value_pm bigint NOT NULL,
    resolution_pm integer NOT NULL
);
-- A step's readings arrive together and stay together: a block range index finds them, at a thousandth of a tree's size.
CREATE INDEX reading_step ON reading USING brin (bench, step) WITH (pages_per_range = 16);
