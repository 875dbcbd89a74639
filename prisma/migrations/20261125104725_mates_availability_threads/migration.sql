-- What holders say of their animals as mates, threads between two keepers, and the feed of changes a search for mates reads.
-- Lock cost: new tables; the triggers take a SHARE ROW EXCLUSIVE lock on their tables for a moment. No rewrite, no data moved.

-- CreateEnum
CREATE TYPE "breeding_offer" AS ENUM ('loan', 'exchange', 'sale', 'gift');

-- CreateEnum
CREATE TYPE "thread_side" AS ENUM ('asker', 'holder');

-- CreateTable
CREATE TABLE "breeding_availability" (
    "access_id" UUID NOT NULL,
    "animal_id" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "open" BOOLEAN NOT NULL,
    "until_on" DATE,
    "offers" "breeding_offer"[],
    "set_at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "breeding_availability_pkey" PRIMARY KEY ("access_id")
);

-- CreateTable
CREATE TABLE "ask_thread" (
    "id" UUID NOT NULL,
    "animal_id" UUID NOT NULL,
    "about_animal_id" UUID,
    "asker_keeper_id" UUID NOT NULL,
    "holder_keeper_id" UUID NOT NULL,
    "opened_at" TIMESTAMPTZ(3) NOT NULL,
    "last_message_at" TIMESTAMPTZ(3) NOT NULL,
    "revealed_at" TIMESTAMPTZ(3),
    "closed_at" TIMESTAMPTZ(3),
    "closed_by" "thread_side",
    "asker_read_at" TIMESTAMPTZ(3) NOT NULL,
    "holder_read_at" TIMESTAMPTZ(3),

    CONSTRAINT "ask_thread_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ask_message" (
    "id" UUID NOT NULL,
    "thread_id" UUID NOT NULL,
    "side" "thread_side" NOT NULL,
    "text" TEXT NOT NULL,
    "sent_at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "ask_message_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "candidate_change" (
    "id" BIGSERIAL NOT NULL,
    "taxon_id" UUID NOT NULL,
    "animal_id" UUID,
    "xid" BIGINT NOT NULL,
    "changed_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "candidate_change_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "breeding_availability_animal_id_idx" ON "breeding_availability"("animal_id");

-- CreateIndex
CREATE INDEX "breeding_availability_keeper_id_idx" ON "breeding_availability"("keeper_id");

-- CreateIndex
CREATE INDEX "ask_thread_asker_keeper_id_last_message_at_id_idx" ON "ask_thread"("asker_keeper_id", "last_message_at", "id");

-- CreateIndex
CREATE INDEX "ask_thread_holder_keeper_id_last_message_at_id_idx" ON "ask_thread"("holder_keeper_id", "last_message_at", "id");

-- CreateIndex
CREATE INDEX "ask_thread_animal_id_idx" ON "ask_thread"("animal_id");

-- CreateIndex
CREATE INDEX "ask_message_thread_id_sent_at_id_idx" ON "ask_message"("thread_id", "sent_at", "id");

-- CreateIndex
CREATE INDEX "candidate_change_taxon_id_xid_idx" ON "candidate_change"("taxon_id", "xid");

-- AddForeignKey
ALTER TABLE "breeding_availability" ADD CONSTRAINT "breeding_availability_access_id_fkey" FOREIGN KEY ("access_id") REFERENCES "animal_access"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "breeding_availability" ADD CONSTRAINT "breeding_availability_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "breeding_availability" ADD CONSTRAINT "breeding_availability_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ask_thread" ADD CONSTRAINT "ask_thread_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ask_thread" ADD CONSTRAINT "ask_thread_about_animal_id_fkey" FOREIGN KEY ("about_animal_id") REFERENCES "animal"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ask_thread" ADD CONSTRAINT "ask_thread_asker_keeper_id_fkey" FOREIGN KEY ("asker_keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ask_thread" ADD CONSTRAINT "ask_thread_holder_keeper_id_fkey" FOREIGN KEY ("holder_keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ask_message" ADD CONSTRAINT "ask_message_thread_id_fkey" FOREIGN KEY ("thread_id") REFERENCES "ask_thread"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- Hand-written part

ALTER TABLE "ask_thread" ADD CONSTRAINT "ask_thread_two_keepers" CHECK (asker_keeper_id <> holder_keeper_id);
ALTER TABLE "ask_thread" ADD CONSTRAINT "ask_thread_closed_told" CHECK ((closed_at IS NULL) = (closed_by IS NULL));
ALTER TABLE "ask_message" ADD CONSTRAINT "ask_message_length" CHECK (char_length(text) BETWEEN 1 AND 2000);
CREATE UNIQUE INDEX "ask_thread_one_open" ON "ask_thread" ("asker_keeper_id", "animal_id") WHERE closed_at IS NULL;

-- The feed: one row an animal, or one a taxon where a statement touches more than 500. Statement triggers, so that a load
-- of many animals pays once a statement. The id of the transaction lets a reader tell what its snapshot had not seen.
CREATE FUNCTION feed_candidates(animal_ids uuid[]) RETURNS void LANGUAGE sql AS $$
  INSERT INTO candidate_change (taxon_id, animal_id, xid)
  SELECT DISTINCT a.taxon_id, CASE WHEN cardinality(animal_ids) > 500 THEN NULL ELSE a.id END, pg_current_xact_id()::text::bigint
  FROM animal a WHERE a.id = ANY(animal_ids)
$$;

CREATE FUNCTION feed_from_rows() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM feed_candidates(ids) FROM (SELECT array_agg(DISTINCT animal_id) AS ids FROM changed) c WHERE ids IS NOT NULL;
  RETURN NULL;
END $$;

-- An animal that enters a group can restart the clock of the others.
CREATE FUNCTION feed_from_quarantine_entries() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM feed_candidates(ids) FROM (
    SELECT array_agg(DISTINCT e.animal_id) AS ids FROM quarantine_entry e WHERE e.group_id IN (SELECT group_id FROM changed)) c
  WHERE ids IS NOT NULL;
  RETURN NULL;
END $$;

CREATE FUNCTION feed_from_quarantine_groups() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM feed_candidates(ids) FROM (
    SELECT array_agg(DISTINCT e.animal_id) AS ids FROM quarantine_entry e WHERE e.group_id IN (SELECT id FROM changed)) c
  WHERE ids IS NOT NULL;
  RETURN NULL;
END $$;

CREATE FUNCTION feed_from_animals() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM feed_candidates(ids) FROM (
    SELECT array_agg(n.id) AS ids FROM changed n JOIN before o ON o.id = n.id
    WHERE (o.taxon_id, o.line_id, o.kind, o.sex, o.fate, o.birth_earliest, o.birth_latest, o.merged_into_id)
      IS DISTINCT FROM (n.taxon_id, n.line_id, n.kind, n.sex, n.fate, n.birth_earliest, n.birth_latest, n.merged_into_id)) c
  WHERE ids IS NOT NULL;
  -- The taxon an animal was moved from.
  INSERT INTO candidate_change (taxon_id, animal_id, xid)
  SELECT o.taxon_id, o.id, pg_current_xact_id()::text::bigint
  FROM changed n JOIN before o ON o.id = n.id WHERE o.taxon_id <> n.taxon_id;
  RETURN NULL;
END $$;

CREATE TRIGGER feed_update AFTER UPDATE ON "animal" REFERENCING OLD TABLE AS before NEW TABLE AS changed FOR EACH STATEMENT EXECUTE FUNCTION feed_from_animals();
CREATE TRIGGER feed_insert AFTER INSERT ON "animal_access" REFERENCING NEW TABLE AS changed FOR EACH STATEMENT EXECUTE FUNCTION feed_from_rows();
CREATE TRIGGER feed_update AFTER UPDATE ON "animal_access" REFERENCING NEW TABLE AS changed FOR EACH STATEMENT EXECUTE FUNCTION feed_from_rows();
CREATE TRIGGER feed_delete AFTER DELETE ON "animal_access" REFERENCING OLD TABLE AS changed FOR EACH STATEMENT EXECUTE FUNCTION feed_from_rows();
CREATE TRIGGER feed_insert AFTER INSERT ON "breeding_availability" REFERENCING NEW TABLE AS changed FOR EACH STATEMENT EXECUTE FUNCTION feed_from_rows();
CREATE TRIGGER feed_update AFTER UPDATE ON "breeding_availability" REFERENCING NEW TABLE AS changed FOR EACH STATEMENT EXECUTE FUNCTION feed_from_rows();
CREATE TRIGGER feed_delete AFTER DELETE ON "breeding_availability" REFERENCING OLD TABLE AS changed FOR EACH STATEMENT EXECUTE FUNCTION feed_from_rows();
CREATE TRIGGER feed_insert AFTER INSERT ON "transfer_item" REFERENCING NEW TABLE AS changed FOR EACH STATEMENT EXECUTE FUNCTION feed_from_rows();
CREATE TRIGGER feed_update AFTER UPDATE ON "transfer_item" REFERENCING NEW TABLE AS changed FOR EACH STATEMENT EXECUTE FUNCTION feed_from_rows();
CREATE TRIGGER feed_delete AFTER DELETE ON "transfer_item" REFERENCING OLD TABLE AS changed FOR EACH STATEMENT EXECUTE FUNCTION feed_from_rows();
CREATE TRIGGER feed_insert AFTER INSERT ON "quarantine_entry" REFERENCING NEW TABLE AS changed FOR EACH STATEMENT EXECUTE FUNCTION feed_from_quarantine_entries();
CREATE TRIGGER feed_update AFTER UPDATE ON "quarantine_entry" REFERENCING NEW TABLE AS changed FOR EACH STATEMENT EXECUTE FUNCTION feed_from_quarantine_entries();
CREATE TRIGGER feed_update AFTER UPDATE ON "quarantine_group" REFERENCING NEW TABLE AS changed FOR EACH STATEMENT EXECUTE FUNCTION feed_from_quarantine_groups();
