-- The ground floor: every table of the first journey, and the constraints that have the last word.
-- Lock cost: none to speak of, all tables are new.

CREATE EXTENSION IF NOT EXISTS btree_gist;
GRANT USAGE ON SCHEMA public TO PUBLIC;

-- CreateSchema

-- CreateEnum
CREATE TYPE "access_relation" AS ENUM ('holder', 'owner', 'receiver');

-- CreateEnum
CREATE TYPE "animal_kind" AS ENUM ('individual', 'lot');

-- CreateEnum
CREATE TYPE "sex" AS ENUM ('male', 'female', 'unknown');

-- CreateEnum
CREATE TYPE "origin_class" AS ENUM ('bred', 'wild', 'ranched', 'unknown');

-- CreateEnum
CREATE TYPE "fate" AS ENUM ('alive', 'dead', 'missing', 'stolen', 'escaped', 'seized', 'surrendered', 'left_registry');

-- CreateEnum
CREATE TYPE "lot_change_cause" AS ENUM ('opening', 'split_out', 'split_in', 'died', 'corrected');

-- CreateEnum
CREATE TYPE "holder_kind" AS ENUM ('keeper', 'carrier', 'veterinarian', 'authority', 'outside_party', 'unknown');

-- CreateEnum
CREATE TYPE "ownership_state" AS ENUM ('agreed', 'disputed');

-- CreateEnum
CREATE TYPE "parent_role" AS ENUM ('sire', 'dam');

-- CreateEnum
CREATE TYPE "parentage_basis" AS ENUM ('observed', 'shared_enclosure', 'declared', 'genetic_test');

-- CreateEnum
CREATE TYPE "keeper_kind" AS ENUM ('person', 'house');

-- CreateEnum
CREATE TYPE "holdings_audience" AS ENUM ('nobody', 'coordinator', 'club');

-- CreateEnum
CREATE TYPE "keeper_role" AS ENUM ('owner', 'helper');

-- CreateEnum
CREATE TYPE "transfer_state" AS ENUM ('offered', 'accepted', 'sent', 'received', 'declined', 'withdrawn');

-- CreateEnum
CREATE TYPE "transfer_kind" AS ENUM ('gift', 'sale', 'exchange');

-- CreateEnum
CREATE TYPE "arrival_state" AS ENUM ('well', 'ill', 'dead', 'missing', 'not_as_described', 'refused');

-- CreateTable
CREATE TABLE "animal_access" (
    "id" UUID NOT NULL,
    "animal_id" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "relation" "access_relation" NOT NULL,
    "valid_from" DATE NOT NULL,
    "valid_to" DATE,
    "reads_until" TIMESTAMPTZ(3),

    CONSTRAINT "animal_access_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "animal" (
    "id" UUID NOT NULL,
    "register_number" TEXT NOT NULL,
    "kind" "animal_kind" NOT NULL,
    "taxon_id" UUID NOT NULL,
    "line_id" UUID,
    "registered_at" TIMESTAMPTZ(3) NOT NULL,
    "registered_by" UUID NOT NULL,
    "name" TEXT,
    "sex" "sex" NOT NULL DEFAULT 'unknown',
    "birth_edtf" TEXT,
    "birth_earliest" DATE,
    "birth_latest" DATE,
    "origin_class" "origin_class" NOT NULL DEFAULT 'unknown',
    "fate" "fate" NOT NULL DEFAULT 'alive',
    "fate_edtf" TEXT,
    "last_seen_on" DATE,
    "count" INTEGER NOT NULL,
    "count_estimated" BOOLEAN NOT NULL DEFAULT false,
    "version" INTEGER NOT NULL DEFAULT 1,

    CONSTRAINT "animal_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "animal_fact" (
    "id" UUID NOT NULL,
    "animal_id" UUID NOT NULL,
    "kind" TEXT NOT NULL,
    "body" JSONB NOT NULL,
    "edtf" TEXT,
    "earliest" DATE,
    "latest" DATE,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "recorded_by" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "superseded_at" TIMESTAMPTZ(3),
    "superseded_by" UUID,
    "reason" TEXT,

    CONSTRAINT "animal_fact_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "animal_mark" (
    "id" UUID NOT NULL,
    "animal_id" UUID NOT NULL,
    "kind" TEXT NOT NULL,
    "value" TEXT NOT NULL,
    "edtf" TEXT,
    "earliest" DATE,
    "latest" DATE,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "recorded_by" UUID NOT NULL,
    "superseded_at" TIMESTAMPTZ(3),
    "superseded_by" UUID,
    "reason" TEXT,

    CONSTRAINT "animal_mark_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "lot_change" (
    "id" UUID NOT NULL,
    "lot_id" UUID NOT NULL,
    "cause" "lot_change_cause" NOT NULL,
    "delta" INTEGER NOT NULL,
    "estimated" BOOLEAN NOT NULL DEFAULT false,
    "counterpart_id" UUID,
    "happened_on" DATE NOT NULL,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "recorded_by" UUID NOT NULL,
    "reason" TEXT,

    CONSTRAINT "lot_change_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "outside_party" (
    "id" UUID NOT NULL,
    "recorded_for" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "contact" TEXT,
    "taken_up_by_keeper" UUID,
    "created_at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "outside_party_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "custody" (
    "id" UUID NOT NULL,
    "animal_id" UUID NOT NULL,
    "holder_kind" "holder_kind" NOT NULL,
    "keeper_id" UUID,
    "outside_party_id" UUID,
    "valid_from" DATE NOT NULL,
    "valid_to" DATE,
    "arrived_by" TEXT NOT NULL,
    "left_by" TEXT,
    "arrival_ref" UUID,
    "departure_ref" UUID,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "recorded_by" UUID NOT NULL,
    "superseded_at" TIMESTAMPTZ(3),
    "superseded_by" UUID,
    "reason" TEXT,

    CONSTRAINT "custody_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ownership" (
    "id" UUID NOT NULL,
    "animal_id" UUID NOT NULL,
    "state" "ownership_state" NOT NULL DEFAULT 'agreed',
    "valid_from" DATE NOT NULL,
    "valid_to" DATE,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "recorded_by" UUID NOT NULL,
    "superseded_at" TIMESTAMPTZ(3),
    "superseded_by" UUID,
    "reason" TEXT,

    CONSTRAINT "ownership_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ownership_share" (
    "id" UUID NOT NULL,
    "ownership_id" UUID NOT NULL,
    "keeper_id" UUID,
    "outside_party_id" UUID,
    "parts" INTEGER NOT NULL,

    CONSTRAINT "ownership_share_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "lineage_population" (
    "id" UUID NOT NULL,
    "taxon_id" UUID NOT NULL,
    "version" BIGINT NOT NULL DEFAULT 0,

    CONSTRAINT "lineage_population_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "lineage_change" (
    "population_id" UUID NOT NULL,
    "version" BIGINT NOT NULL,
    "animal_id" UUID NOT NULL,
    "claim_id" UUID,

    CONSTRAINT "lineage_change_pkey" PRIMARY KEY ("population_id","version")
);

-- CreateTable
CREATE TABLE "parentage_claim" (
    "id" UUID NOT NULL,
    "child_id" UUID NOT NULL,
    "role" "parent_role" NOT NULL,
    "basis" "parentage_basis" NOT NULL,
    "edtf" TEXT,
    "earliest" DATE,
    "latest" DATE,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "recorded_by" UUID NOT NULL,
    "superseded_at" TIMESTAMPTZ(3),
    "superseded_by" UUID,
    "reason" TEXT,

    CONSTRAINT "parentage_claim_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "parent_candidate" (
    "claim_id" UUID NOT NULL,
    "parent_id" UUID NOT NULL,
    "probability" DECIMAL(9,8) NOT NULL,

    CONSTRAINT "parent_candidate_pkey" PRIMARY KEY ("claim_id","parent_id")
);

-- CreateTable
CREATE TABLE "account" (
    "id" UUID NOT NULL,
    "email" TEXT NOT NULL,
    "password_hash" TEXT NOT NULL,
    "created_at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "account_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "keeper" (
    "id" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "kind" "keeper_kind" NOT NULL,
    "region" TEXT,
    "holdings_shown" "holdings_audience" NOT NULL DEFAULT 'nobody',
    "lineage_shared" BOOLEAN NOT NULL DEFAULT true,
    "created_at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "keeper_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "keeper_member" (
    "keeper_id" UUID NOT NULL,
    "account_id" UUID NOT NULL,
    "role" "keeper_role" NOT NULL,
    "since" TIMESTAMPTZ(3) NOT NULL,
    "ended_at" TIMESTAMPTZ(3),

    CONSTRAINT "keeper_member_pkey" PRIMARY KEY ("keeper_id","account_id")
);

-- CreateTable
CREATE TABLE "club" (
    "id" UUID NOT NULL,
    "slug" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "created_at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "club_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "club_member" (
    "club_id" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "joined_on" DATE NOT NULL,
    "left_on" DATE,

    CONSTRAINT "club_member_pkey" PRIMARY KEY ("club_id","keeper_id")
);

-- CreateTable
CREATE TABLE "notice" (
    "id" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "kind" TEXT NOT NULL,
    "body" JSONB NOT NULL,
    "due_on" DATE,
    "dedupe_key" TEXT NOT NULL,
    "created_at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "notice_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ledger_entry" (
    "id" UUID NOT NULL,
    "at" TIMESTAMPTZ(3) NOT NULL,
    "actor_id" UUID,
    "action" TEXT NOT NULL,
    "schema_version" INTEGER NOT NULL,
    "subjects" UUID[],
    "body" TEXT NOT NULL,
    "leaf_hash" BYTEA NOT NULL,

    CONSTRAINT "ledger_entry_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ledger_commitment" (
    "id" UUID NOT NULL,
    "entry_id" UUID NOT NULL,
    "path" TEXT NOT NULL,
    "salt" BYTEA NOT NULL,
    "value" TEXT NOT NULL,

    CONSTRAINT "ledger_commitment_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "outbox_message" (
    "id" UUID NOT NULL,
    "job" TEXT NOT NULL,
    "schema_version" INTEGER NOT NULL,
    "payload" JSONB NOT NULL,
    "actor_id" UUID,
    "request_id" TEXT,
    "dedupe_key" TEXT,
    "available_at" TIMESTAMPTZ(3) NOT NULL,
    "created_at" TIMESTAMPTZ(3) NOT NULL,
    "dispatched_at" TIMESTAMPTZ(3),
    "attempts" INTEGER NOT NULL DEFAULT 0,
    "last_error" TEXT,

    CONSTRAINT "outbox_message_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "job_receipt" (
    "message_id" UUID NOT NULL,
    "handler" TEXT NOT NULL,
    "at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "job_receipt_pkey" PRIMARY KEY ("message_id","handler")
);

-- CreateTable
CREATE TABLE "job_failure" (
    "message_id" UUID NOT NULL,
    "job" TEXT NOT NULL,
    "payload" JSONB NOT NULL,
    "error" TEXT NOT NULL,
    "at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "job_failure_pkey" PRIMARY KEY ("message_id")
);

-- CreateTable
CREATE TABLE "idempotency_record" (
    "account_id" UUID NOT NULL,
    "key" TEXT NOT NULL,
    "request_hash" TEXT NOT NULL,
    "outcome" JSONB NOT NULL,
    "created_at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "idempotency_record_pkey" PRIMARY KEY ("account_id","key")
);

-- CreateTable
CREATE TABLE "taxon" (
    "id" UUID NOT NULL,
    "scientific_name" TEXT NOT NULL,
    "common_name" TEXT NOT NULL,
    "class_name" TEXT NOT NULL,
    "order_name" TEXT NOT NULL,
    "name_source" TEXT NOT NULL,
    "quarantine_days" INTEGER NOT NULL,
    "quarantine_source" TEXT NOT NULL,

    CONSTRAINT "taxon_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "line" (
    "id" UUID NOT NULL,
    "taxon_id" UUID NOT NULL,
    "name" TEXT NOT NULL,

    CONSTRAINT "line_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "transfer" (
    "id" UUID NOT NULL,
    "state" "transfer_state" NOT NULL,
    "kind" "transfer_kind" NOT NULL,
    "from_keeper_id" UUID NOT NULL,
    "to_keeper_id" UUID,
    "to_outside_party_id" UUID,
    "message" TEXT,
    "price_minor" BIGINT,
    "price_currency" TEXT,
    "offered_at" TIMESTAMPTZ(3) NOT NULL,
    "accepted_at" TIMESTAMPTZ(3),
    "sent_on" DATE,
    "received_on" DATE,
    "closed_at" TIMESTAMPTZ(3),
    "claim_code_hash" TEXT,
    "taken_up_at" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,

    CONSTRAINT "transfer_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "transfer_item" (
    "id" UUID NOT NULL,
    "transfer_id" UUID NOT NULL,
    "animal_id" UUID NOT NULL,
    "count" INTEGER NOT NULL,
    "open" BOOLEAN NOT NULL,

    CONSTRAINT "transfer_item_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "transfer_arrival" (
    "item_id" UUID NOT NULL,
    "state" "arrival_state" NOT NULL,
    "count" INTEGER NOT NULL,

    CONSTRAINT "transfer_arrival_pkey" PRIMARY KEY ("item_id","state")
);

-- CreateTable
CREATE TABLE "record_paper" (
    "id" UUID NOT NULL,
    "transfer_id" UUID NOT NULL,
    "check_code" TEXT NOT NULL,
    "issued_at" TIMESTAMPTZ(3) NOT NULL,
    "issued_by" UUID NOT NULL,
    "content" JSONB NOT NULL,
    "content_hash" TEXT NOT NULL,

    CONSTRAINT "record_paper_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "animal_access_keeper_id_relation_animal_id_idx" ON "animal_access"("keeper_id", "relation", "animal_id");

-- CreateIndex
CREATE INDEX "animal_access_animal_id_idx" ON "animal_access"("animal_id");

-- CreateIndex
CREATE UNIQUE INDEX "animal_register_number_key" ON "animal"("register_number");

-- CreateIndex
CREATE INDEX "animal_taxon_id_idx" ON "animal"("taxon_id");

-- CreateIndex
CREATE INDEX "animal_fact_animal_id_kind_idx" ON "animal_fact"("animal_id", "kind");

-- CreateIndex
CREATE INDEX "animal_mark_animal_id_idx" ON "animal_mark"("animal_id");

-- CreateIndex
CREATE INDEX "animal_mark_kind_value_idx" ON "animal_mark"("kind", "value");

-- CreateIndex
CREATE INDEX "lot_change_lot_id_happened_on_idx" ON "lot_change"("lot_id", "happened_on");

-- CreateIndex
CREATE INDEX "outside_party_recorded_for_idx" ON "outside_party"("recorded_for");

-- CreateIndex
CREATE INDEX "custody_animal_id_idx" ON "custody"("animal_id");

-- CreateIndex
CREATE INDEX "custody_keeper_id_idx" ON "custody"("keeper_id");

-- CreateIndex
CREATE INDEX "ownership_animal_id_idx" ON "ownership"("animal_id");

-- CreateIndex
CREATE INDEX "ownership_share_ownership_id_idx" ON "ownership_share"("ownership_id");

-- CreateIndex
CREATE INDEX "ownership_share_keeper_id_idx" ON "ownership_share"("keeper_id");

-- CreateIndex
CREATE UNIQUE INDEX "lineage_population_taxon_id_key" ON "lineage_population"("taxon_id");

-- CreateIndex
CREATE INDEX "parentage_claim_child_id_idx" ON "parentage_claim"("child_id");

-- CreateIndex
CREATE INDEX "parent_candidate_parent_id_idx" ON "parent_candidate"("parent_id");

-- CreateIndex
CREATE UNIQUE INDEX "account_email_key" ON "account"("email");

-- CreateIndex
CREATE INDEX "keeper_member_account_id_idx" ON "keeper_member"("account_id");

-- CreateIndex
CREATE UNIQUE INDEX "club_slug_key" ON "club"("slug");

-- CreateIndex
CREATE INDEX "club_member_keeper_id_idx" ON "club_member"("keeper_id");

-- CreateIndex
CREATE UNIQUE INDEX "notice_dedupe_key_key" ON "notice"("dedupe_key");

-- CreateIndex
CREATE INDEX "notice_keeper_id_created_at_id_idx" ON "notice"("keeper_id", "created_at", "id");

-- CreateIndex
CREATE INDEX "ledger_commitment_entry_id_idx" ON "ledger_commitment"("entry_id");

-- CreateIndex
CREATE UNIQUE INDEX "outbox_message_dedupe_key_key" ON "outbox_message"("dedupe_key");

-- CreateIndex
CREATE INDEX "idempotency_record_created_at_idx" ON "idempotency_record"("created_at");

-- CreateIndex
CREATE UNIQUE INDEX "taxon_scientific_name_key" ON "taxon"("scientific_name");

-- CreateIndex
CREATE UNIQUE INDEX "line_taxon_id_name_key" ON "line"("taxon_id", "name");

-- CreateIndex
CREATE UNIQUE INDEX "transfer_claim_code_hash_key" ON "transfer"("claim_code_hash");

-- CreateIndex
CREATE INDEX "transfer_from_keeper_id_offered_at_id_idx" ON "transfer"("from_keeper_id", "offered_at", "id");

-- CreateIndex
CREATE INDEX "transfer_to_keeper_id_offered_at_id_idx" ON "transfer"("to_keeper_id", "offered_at", "id");

-- CreateIndex
CREATE INDEX "transfer_item_animal_id_idx" ON "transfer_item"("animal_id");

-- CreateIndex
CREATE UNIQUE INDEX "transfer_item_transfer_id_animal_id_key" ON "transfer_item"("transfer_id", "animal_id");

-- CreateIndex
CREATE UNIQUE INDEX "record_paper_check_code_key" ON "record_paper"("check_code");

-- CreateIndex
CREATE INDEX "record_paper_transfer_id_idx" ON "record_paper"("transfer_id");

-- AddForeignKey
ALTER TABLE "animal_access" ADD CONSTRAINT "animal_access_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "animal_access" ADD CONSTRAINT "animal_access_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "animal" ADD CONSTRAINT "animal_taxon_id_fkey" FOREIGN KEY ("taxon_id") REFERENCES "taxon"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "animal" ADD CONSTRAINT "animal_line_id_fkey" FOREIGN KEY ("line_id") REFERENCES "line"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "animal_fact" ADD CONSTRAINT "animal_fact_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "animal_fact" ADD CONSTRAINT "animal_fact_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "animal_mark" ADD CONSTRAINT "animal_mark_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "lot_change" ADD CONSTRAINT "lot_change_lot_id_fkey" FOREIGN KEY ("lot_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "outside_party" ADD CONSTRAINT "outside_party_recorded_for_fkey" FOREIGN KEY ("recorded_for") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "outside_party" ADD CONSTRAINT "outside_party_taken_up_by_keeper_fkey" FOREIGN KEY ("taken_up_by_keeper") REFERENCES "keeper"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "custody" ADD CONSTRAINT "custody_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "custody" ADD CONSTRAINT "custody_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "custody" ADD CONSTRAINT "custody_outside_party_id_fkey" FOREIGN KEY ("outside_party_id") REFERENCES "outside_party"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ownership" ADD CONSTRAINT "ownership_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ownership_share" ADD CONSTRAINT "ownership_share_ownership_id_fkey" FOREIGN KEY ("ownership_id") REFERENCES "ownership"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ownership_share" ADD CONSTRAINT "ownership_share_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ownership_share" ADD CONSTRAINT "ownership_share_outside_party_id_fkey" FOREIGN KEY ("outside_party_id") REFERENCES "outside_party"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "lineage_population" ADD CONSTRAINT "lineage_population_taxon_id_fkey" FOREIGN KEY ("taxon_id") REFERENCES "taxon"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "lineage_change" ADD CONSTRAINT "lineage_change_population_id_fkey" FOREIGN KEY ("population_id") REFERENCES "lineage_population"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "parentage_claim" ADD CONSTRAINT "parentage_claim_child_id_fkey" FOREIGN KEY ("child_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "parent_candidate" ADD CONSTRAINT "parent_candidate_claim_id_fkey" FOREIGN KEY ("claim_id") REFERENCES "parentage_claim"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "parent_candidate" ADD CONSTRAINT "parent_candidate_parent_id_fkey" FOREIGN KEY ("parent_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "keeper_member" ADD CONSTRAINT "keeper_member_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "keeper_member" ADD CONSTRAINT "keeper_member_account_id_fkey" FOREIGN KEY ("account_id") REFERENCES "account"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "club_member" ADD CONSTRAINT "club_member_club_id_fkey" FOREIGN KEY ("club_id") REFERENCES "club"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "club_member" ADD CONSTRAINT "club_member_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "notice" ADD CONSTRAINT "notice_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ledger_commitment" ADD CONSTRAINT "ledger_commitment_entry_id_fkey" FOREIGN KEY ("entry_id") REFERENCES "ledger_entry"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "line" ADD CONSTRAINT "line_taxon_id_fkey" FOREIGN KEY ("taxon_id") REFERENCES "taxon"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "transfer" ADD CONSTRAINT "transfer_from_keeper_id_fkey" FOREIGN KEY ("from_keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "transfer" ADD CONSTRAINT "transfer_to_keeper_id_fkey" FOREIGN KEY ("to_keeper_id") REFERENCES "keeper"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "transfer" ADD CONSTRAINT "transfer_to_outside_party_id_fkey" FOREIGN KEY ("to_outside_party_id") REFERENCES "outside_party"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "transfer_item" ADD CONSTRAINT "transfer_item_transfer_id_fkey" FOREIGN KEY ("transfer_id") REFERENCES "transfer"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "transfer_item" ADD CONSTRAINT "transfer_item_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "transfer_arrival" ADD CONSTRAINT "transfer_arrival_item_id_fkey" FOREIGN KEY ("item_id") REFERENCES "transfer_item"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "record_paper" ADD CONSTRAINT "record_paper_transfer_id_fkey" FOREIGN KEY ("transfer_id") REFERENCES "transfer"("id") ON DELETE RESTRICT ON UPDATE CASCADE;



-- Hand-written part. Each rule below is listed in prisma/CONSTRAINTS.md with the sentence a person reads when it is hit.

-- Days and their order
ALTER TABLE animal ADD CONSTRAINT animal_birth_order CHECK (birth_earliest <= birth_latest);
ALTER TABLE animal_fact ADD CONSTRAINT animal_fact_day_order CHECK (earliest <= latest);
ALTER TABLE animal_mark ADD CONSTRAINT animal_mark_day_order CHECK (earliest <= latest);
ALTER TABLE parentage_claim ADD CONSTRAINT parentage_claim_day_order CHECK (earliest <= latest);
ALTER TABLE custody ADD CONSTRAINT custody_day_order CHECK (valid_from <= valid_to);
ALTER TABLE ownership ADD CONSTRAINT ownership_day_order CHECK (valid_from <= valid_to);
ALTER TABLE animal_access ADD CONSTRAINT animal_access_day_order CHECK (valid_from <= valid_to);
ALTER TABLE club_member ADD CONSTRAINT club_member_day_order CHECK (joined_on <= left_on);

-- Membership
ALTER TABLE account ADD CONSTRAINT account_email_lower CHECK (email = lower(email));

-- Animals and lots
ALTER TABLE animal ADD CONSTRAINT animal_register_number_form CHECK (register_number ~ '^[0-9A-Z]{9}$');
ALTER TABLE animal ADD CONSTRAINT animal_count_range CHECK (count >= 0 AND (kind = 'lot' OR count <= 1));
ALTER TABLE lot_change ADD CONSTRAINT lot_change_direction CHECK (
  CASE cause
    WHEN 'opening' THEN delta > 0
    WHEN 'split_in' THEN delta > 0
    WHEN 'split_out' THEN delta < 0
    WHEN 'died' THEN delta < 0
    ELSE delta <> 0
  END);
CREATE UNIQUE INDEX lot_change_one_opening ON lot_change (lot_id) WHERE cause IN ('opening', 'split_in');

-- The messages of deferred triggers name their constraint, because the driver adapter hands on no name for errors raised at commit.
-- opening + in − out = closing: at commit the count of a lot equals the sum of its changes.
CREATE FUNCTION check_lot_balance() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  lot uuid;
  counted integer;
  summed bigint;
BEGIN
  IF TG_TABLE_NAME = 'animal' THEN lot := NEW.id; ELSE lot := NEW.lot_id; END IF;
  SELECT a.count INTO counted FROM animal a WHERE a.id = lot AND a.kind = 'lot';
  IF FOUND THEN
    SELECT coalesce(sum(c.delta), 0) INTO summed FROM lot_change c WHERE c.lot_id = lot;
    IF counted <> summed THEN
      RAISE EXCEPTION 'constraint "lot_balances": lot % counts % but its changes sum to %', lot, counted, summed
        USING ERRCODE = 'check_violation', CONSTRAINT = 'lot_balances';
    END IF;
  END IF;
  RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER lot_balances_animal AFTER INSERT OR UPDATE OF count ON animal
  DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION check_lot_balance();
CREATE CONSTRAINT TRIGGER lot_balances_change AFTER INSERT OR UPDATE ON lot_change
  DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION check_lot_balance();

-- Lineage
CREATE UNIQUE INDEX parentage_claim_one_in_force ON parentage_claim (child_id, role) WHERE superseded_at IS NULL;
ALTER TABLE parent_candidate ADD CONSTRAINT parent_candidate_probability CHECK (probability > 0 AND probability <= 1);

-- Custody: one holder on each day. Half-open ranges, so that a hand-over day belongs to the receiver; empty ranges overlap nothing.
ALTER TABLE custody ADD CONSTRAINT custody_no_overlap EXCLUDE USING gist
  (animal_id WITH =, daterange(valid_from, valid_to) WITH &&) WHERE (superseded_at IS NULL);
ALTER TABLE custody ADD CONSTRAINT custody_holder_named CHECK (
  (holder_kind = 'keeper') = (keeper_id IS NOT NULL) AND (holder_kind = 'outside_party') = (outside_party_id IS NOT NULL));
ALTER TABLE custody ADD CONSTRAINT custody_leaving_told CHECK ((valid_to IS NULL) = (left_by IS NULL));
ALTER TABLE ownership ADD CONSTRAINT ownership_no_overlap EXCLUDE USING gist
  (animal_id WITH =, daterange(valid_from, valid_to) WITH &&) WHERE (superseded_at IS NULL);
ALTER TABLE ownership_share ADD CONSTRAINT ownership_share_parts CHECK (parts > 0);
ALTER TABLE ownership_share ADD CONSTRAINT ownership_share_one_owner CHECK ((keeper_id IS NULL) <> (outside_party_id IS NULL));
CREATE UNIQUE INDEX ownership_share_keeper_once ON ownership_share (ownership_id, keeper_id) WHERE keeper_id IS NOT NULL;
CREATE UNIQUE INDEX ownership_share_outside_once ON ownership_share (ownership_id, outside_party_id) WHERE outside_party_id IS NOT NULL;

-- An agreed ownership has an owner by commit; a disputed one may have none yet.
CREATE FUNCTION check_ownership_has_owner() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF NEW.state = 'agreed' AND NOT EXISTS (SELECT 1 FROM ownership_share s WHERE s.ownership_id = NEW.id) THEN
    RAISE EXCEPTION 'constraint "ownership_has_owner": ownership % has no owner', NEW.id USING ERRCODE = 'check_violation', CONSTRAINT = 'ownership_has_owner';
  END IF;
  RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER ownership_has_owner AFTER INSERT OR UPDATE ON ownership
  DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION check_ownership_has_owner();

-- Access
CREATE UNIQUE INDEX animal_access_one_in_force ON animal_access (animal_id, keeper_id, relation) WHERE valid_to IS NULL;

-- Transfers
ALTER TABLE transfer ADD CONSTRAINT transfer_one_receiver CHECK ((to_keeper_id IS NULL) <> (to_outside_party_id IS NULL));
ALTER TABLE transfer ADD CONSTRAINT transfer_not_to_self CHECK (to_keeper_id <> from_keeper_id);
ALTER TABLE transfer ADD CONSTRAINT transfer_price_whole CHECK ((price_minor IS NULL) = (price_currency IS NULL) AND price_minor >= 0);
ALTER TABLE transfer ADD CONSTRAINT transfer_closed_told CHECK ((closed_at IS NOT NULL) = (state IN ('received', 'declined', 'withdrawn')));
CREATE UNIQUE INDEX transfer_item_one_open ON transfer_item (animal_id) WHERE open;
ALTER TABLE transfer_item ADD CONSTRAINT transfer_item_count CHECK (count > 0);
ALTER TABLE transfer_arrival ADD CONSTRAINT transfer_arrival_count CHECK (count > 0);

-- Outbox: the relay reads what is waiting, oldest first.
CREATE INDEX outbox_message_waiting ON outbox_message (available_at, id) WHERE dispatched_at IS NULL;

-- Ledger: append-only, and the text behind a commitment may be deleted but not changed.
CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '% is append-only: % refused', TG_TABLE_NAME, TG_OP USING ERRCODE = 'restrict_violation', CONSTRAINT = 'append_only';
END $$;
CREATE TRIGGER ledger_entry_append_only BEFORE UPDATE OR DELETE ON ledger_entry FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER ledger_entry_no_truncate BEFORE TRUNCATE ON ledger_entry FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
CREATE TRIGGER ledger_commitment_no_update BEFORE UPDATE ON ledger_commitment FOR EACH ROW EXECUTE FUNCTION refuse_change();
