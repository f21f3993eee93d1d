-- One SQL text for SQLite and PostgreSQL. Times are microseconds since 1970 UTC,
-- 0 for never; ids are UUIDv7 as text; bodies are JSON as text.

-- +goose Up
CREATE TABLE blob (
    sha256  TEXT PRIMARY KEY,
    bytes   BIGINT NOT NULL,
    made_us BIGINT NOT NULL
);

-- A record: what is in it stands in its revisions.
CREATE TABLE record (
    id         TEXT PRIMARY KEY,
    kind       TEXT NOT NULL,
    rev        BIGINT NOT NULL, -- the last one
    folded     TEXT NOT NULL, -- the name as it is compared
    only_one   BIGINT NOT NULL, -- 1 where names of the kind are unique
    made_us    BIGINT NOT NULL,
    deleted_us BIGINT NOT NULL
);
CREATE INDEX record_kind ON record (kind, id);
CREATE UNIQUE INDEX record_name ON record (kind, folded) WHERE only_one = 1 AND deleted_us = 0;

-- Links and files of the last revision, to be found from their other end.
CREATE TABLE link (
    record_id TEXT NOT NULL REFERENCES record (id),
    role      TEXT NOT NULL,
    target_id TEXT NOT NULL REFERENCES record (id),
    PRIMARY KEY (record_id, role)
);
CREATE INDEX link_target ON link (target_id, role, record_id);

CREATE TABLE attachment (
    record_id TEXT NOT NULL REFERENCES record (id),
    role      TEXT NOT NULL,
    sha256    TEXT NOT NULL REFERENCES blob (sha256),
    PRIMARY KEY (record_id, role)
);
CREATE INDEX attachment_blob ON attachment (sha256);

-- Every revision of every record, the last one too.
CREATE TABLE revision (
    record_id  TEXT NOT NULL REFERENCES record (id),
    rev        BIGINT NOT NULL,
    act        TEXT NOT NULL,
    stands     BIGINT NOT NULL, -- the revision whose content this is: itself, or the one that an undo went back to
    at_us      BIGINT NOT NULL,
    deleted_us BIGINT NOT NULL,
    by_whom    TEXT NOT NULL,
    name       TEXT NOT NULL,
    links      TEXT NOT NULL,
    files      TEXT NOT NULL,
    body       TEXT NOT NULL,
    PRIMARY KEY (record_id, rev)
);

-- Edits that were asked for under a key, and what was answered.
CREATE TABLE edit (
    edit_key TEXT PRIMARY KEY,
    asked    TEXT NOT NULL, -- SHA-256 of the changes
    records  TEXT NOT NULL, -- ids and revisions, as JSON
    made_us  BIGINT NOT NULL
);

CREATE TABLE task (
    id         TEXT PRIMARY KEY,
    kind       TEXT NOT NULL,
    task_key   TEXT NOT NULL,
    state      TEXT NOT NULL,
    doing      TEXT NOT NULL,
    done       BIGINT NOT NULL,
    total      BIGINT NOT NULL,
    attempt    BIGINT NOT NULL,
    why        TEXT NOT NULL,
    args       TEXT NOT NULL,
    result     TEXT NOT NULL,
    by_whom    TEXT NOT NULL,
    job_id     BIGINT NOT NULL, -- of the queue underneath; 0 for none yet
    made_us    BIGINT NOT NULL,
    started_us BIGINT NOT NULL,
    changed_us BIGINT NOT NULL,
    ended_us   BIGINT NOT NULL
);
CREATE UNIQUE INDEX task_once ON task (kind, task_key) WHERE state IN ('waiting', 'running', 'done');
CREATE INDEX task_state ON task (state, id);

CREATE TABLE session (
    token   TEXT PRIMARY KEY, -- SHA-256 of what the browser holds
    role    TEXT NOT NULL,
    made_us BIGINT NOT NULL,
    seen_us BIGINT NOT NULL,
    ends_us BIGINT NOT NULL,
    agent   TEXT NOT NULL
);

CREATE TABLE secret (
    name       TEXT PRIMARY KEY,
    value      TEXT NOT NULL,
    changed_us BIGINT NOT NULL
);

-- +goose Down
DROP TABLE secret;
DROP TABLE session;
DROP TABLE task;
DROP TABLE edit;
DROP TABLE revision;
DROP TABLE attachment;
DROP TABLE link;
DROP TABLE record;
DROP TABLE blob;
