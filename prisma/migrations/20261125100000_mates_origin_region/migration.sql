-- Housing, breeding, quarantine, documents, origin checks, offices and mail.
-- Lock cost: none to speak of, all tables are new but one column added to taxon, which is small.

-- CreateEnum
CREATE TYPE "holding_document_kind" AS ENUM ('licence', 'permit', 'certificate', 'invoice', 'veterinary', 'other');

-- CreateEnum
CREATE TYPE "permit_form" AS ENUM ('export_permit', 're_export_certificate', 'import_permit', 'personal_ownership_certificate');

-- CreateEnum
CREATE TYPE "restart_scope" AS ENUM ('order', 'class', 'any');

-- CreateEnum
CREATE TYPE "known_answer" AS ENUM ('yes', 'no', 'unknown');

-- CreateEnum
CREATE TYPE "origin_verdict" AS ENUM ('documented', 'consistent', 'stated_only', 'contradicted');

-- AlterTable
ALTER TABLE "taxon" ADD COLUMN     "profile" JSONB NOT NULL DEFAULT '{}';

-- CreateTable
CREATE TABLE "mating" (
    "id" UUID NOT NULL,
    "dam_id" UUID NOT NULL,
    "sire_id" UUID,
    "basis" "parentage_basis" NOT NULL,
    "controlled" "known_answer" NOT NULL DEFAULT 'unknown',
    "edtf" TEXT,
    "earliest" DATE,
    "latest" DATE,
    "keeper_id" UUID NOT NULL,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "recorded_by" UUID NOT NULL,
    "superseded_at" TIMESTAMPTZ(3),
    "superseded_by" UUID,
    "reason" TEXT,

    CONSTRAINT "mating_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "clutch" (
    "id" UUID NOT NULL,
    "dam_id" UUID NOT NULL,
    "egg_count" INTEGER,
    "controlled" "known_answer" NOT NULL DEFAULT 'unknown',
    "edtf" TEXT,
    "earliest" DATE,
    "latest" DATE,
    "found_on" DATE,
    "keeper_id" UUID NOT NULL,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "recorded_by" UUID NOT NULL,
    "superseded_at" TIMESTAMPTZ(3),
    "superseded_by" UUID,
    "reason" TEXT,

    CONSTRAINT "clutch_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "hatching" (
    "id" UUID NOT NULL,
    "clutch_id" UUID NOT NULL,
    "animal_id" UUID NOT NULL,
    "controlled" "known_answer" NOT NULL DEFAULT 'unknown',
    "edtf" TEXT,
    "earliest" DATE,
    "latest" DATE,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "recorded_by" UUID NOT NULL,
    "superseded_at" TIMESTAMPTZ(3),
    "superseded_by" UUID,
    "reason" TEXT,

    CONSTRAINT "hatching_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "holding_document" (
    "id" UUID NOT NULL,
    "original_id" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "kind" "holding_document_kind" NOT NULL,
    "permit_form" "permit_form",
    "number" TEXT NOT NULL,
    "authority" TEXT NOT NULL,
    "jurisdiction" TEXT NOT NULL,
    "valid_from" DATE,
    "valid_until" DATE,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "recorded_by" UUID NOT NULL,
    "superseded_at" TIMESTAMPTZ(3),
    "superseded_by" UUID,
    "reason" TEXT,

    CONSTRAINT "holding_document_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "document_cover" (
    "id" UUID NOT NULL,
    "document_id" UUID NOT NULL,
    "animal_id" UUID,
    "taxon_id" UUID,
    "quantity" INTEGER,

    CONSTRAINT "document_cover_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "document_file" (
    "id" UUID NOT NULL,
    "document_id" UUID NOT NULL,
    "sha256" TEXT NOT NULL,
    "media_type" TEXT NOT NULL,
    "size" INTEGER NOT NULL,
    "file_name" TEXT NOT NULL,
    "uploaded_at" TIMESTAMPTZ(3) NOT NULL,
    "uploaded_by" UUID NOT NULL,

    CONSTRAINT "document_file_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "quarantine_group" (
    "id" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "days" INTEGER NOT NULL,
    "days_source" TEXT NOT NULL,
    "restart_scope" "restart_scope" NOT NULL,
    "opened_at" TIMESTAMPTZ(3) NOT NULL,
    "transfer_id" UUID,
    "released_on" DATE,
    "release_reason" TEXT,

    CONSTRAINT "quarantine_group_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "quarantine_entry" (
    "id" UUID NOT NULL,
    "group_id" UUID NOT NULL,
    "animal_id" UUID NOT NULL,
    "entered_on" DATE NOT NULL,
    "left_on" DATE,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "recorded_by" UUID NOT NULL,

    CONSTRAINT "quarantine_entry_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "enclosure" (
    "id" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "controlled" "known_answer" NOT NULL DEFAULT 'unknown',
    "controlled_since" DATE,
    "created_at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "enclosure_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "placement" (
    "id" UUID NOT NULL,
    "animal_id" UUID NOT NULL,
    "enclosure_id" UUID NOT NULL,
    "valid_from" DATE NOT NULL,
    "valid_to" DATE,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "recorded_by" UUID NOT NULL,
    "superseded_at" TIMESTAMPTZ(3),
    "superseded_by" UUID,
    "reason" TEXT,

    CONSTRAINT "placement_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "office" (
    "id" UUID NOT NULL,
    "club_id" UUID NOT NULL,
    "account_id" UUID NOT NULL,
    "region" TEXT,
    "taxon_id" UUID,
    "valid_from" DATE NOT NULL,
    "valid_to" DATE,

    CONSTRAINT "office_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "mail_message" (
    "id" UUID NOT NULL,
    "account_id" UUID NOT NULL,
    "subject" TEXT NOT NULL,
    "text" TEXT NOT NULL,
    "dedupe_key" TEXT NOT NULL,
    "created_at" TIMESTAMPTZ(3) NOT NULL,
    "sent_at" TIMESTAMPTZ(3),

    CONSTRAINT "mail_message_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "origin_check" (
    "id" UUID NOT NULL,
    "animal_id" UUID NOT NULL,
    "verdict" "origin_verdict" NOT NULL,
    "finding" JSONB NOT NULL,
    "hash" TEXT NOT NULL,
    "checked_at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "origin_check_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "mating_dam_id_idx" ON "mating"("dam_id");

-- CreateIndex
CREATE INDEX "mating_sire_id_idx" ON "mating"("sire_id");

-- CreateIndex
CREATE INDEX "clutch_dam_id_idx" ON "clutch"("dam_id");

-- CreateIndex
CREATE INDEX "hatching_clutch_id_idx" ON "hatching"("clutch_id");

-- CreateIndex
CREATE INDEX "hatching_animal_id_idx" ON "hatching"("animal_id");

-- CreateIndex
CREATE INDEX "holding_document_keeper_id_valid_until_idx" ON "holding_document"("keeper_id", "valid_until");

-- CreateIndex
CREATE INDEX "holding_document_valid_until_idx" ON "holding_document"("valid_until");

-- CreateIndex
CREATE INDEX "document_cover_document_id_idx" ON "document_cover"("document_id");

-- CreateIndex
CREATE INDEX "document_cover_animal_id_idx" ON "document_cover"("animal_id");

-- CreateIndex
CREATE INDEX "document_file_document_id_idx" ON "document_file"("document_id");

-- CreateIndex
CREATE UNIQUE INDEX "quarantine_group_transfer_id_key" ON "quarantine_group"("transfer_id");

-- CreateIndex
CREATE INDEX "quarantine_group_keeper_id_idx" ON "quarantine_group"("keeper_id");

-- CreateIndex
CREATE INDEX "quarantine_entry_group_id_idx" ON "quarantine_entry"("group_id");

-- CreateIndex
CREATE INDEX "quarantine_entry_animal_id_idx" ON "quarantine_entry"("animal_id");

-- CreateIndex
CREATE INDEX "enclosure_keeper_id_idx" ON "enclosure"("keeper_id");

-- CreateIndex
CREATE INDEX "placement_animal_id_idx" ON "placement"("animal_id");

-- CreateIndex
CREATE INDEX "placement_enclosure_id_idx" ON "placement"("enclosure_id");

-- CreateIndex
CREATE INDEX "office_account_id_idx" ON "office"("account_id");

-- CreateIndex
CREATE UNIQUE INDEX "mail_message_dedupe_key_key" ON "mail_message"("dedupe_key");

-- CreateIndex
CREATE INDEX "mail_message_account_id_created_at_idx" ON "mail_message"("account_id", "created_at");

-- CreateIndex
CREATE INDEX "origin_check_animal_id_checked_at_idx" ON "origin_check"("animal_id", "checked_at");

-- AddForeignKey
ALTER TABLE "mating" ADD CONSTRAINT "mating_dam_id_fkey" FOREIGN KEY ("dam_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "mating" ADD CONSTRAINT "mating_sire_id_fkey" FOREIGN KEY ("sire_id") REFERENCES "animal"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "mating" ADD CONSTRAINT "mating_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "clutch" ADD CONSTRAINT "clutch_dam_id_fkey" FOREIGN KEY ("dam_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "clutch" ADD CONSTRAINT "clutch_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "hatching" ADD CONSTRAINT "hatching_clutch_id_fkey" FOREIGN KEY ("clutch_id") REFERENCES "clutch"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "hatching" ADD CONSTRAINT "hatching_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "holding_document" ADD CONSTRAINT "holding_document_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "document_cover" ADD CONSTRAINT "document_cover_document_id_fkey" FOREIGN KEY ("document_id") REFERENCES "holding_document"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "document_cover" ADD CONSTRAINT "document_cover_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "document_cover" ADD CONSTRAINT "document_cover_taxon_id_fkey" FOREIGN KEY ("taxon_id") REFERENCES "taxon"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "document_file" ADD CONSTRAINT "document_file_document_id_fkey" FOREIGN KEY ("document_id") REFERENCES "holding_document"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "quarantine_group" ADD CONSTRAINT "quarantine_group_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "quarantine_entry" ADD CONSTRAINT "quarantine_entry_group_id_fkey" FOREIGN KEY ("group_id") REFERENCES "quarantine_group"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "quarantine_entry" ADD CONSTRAINT "quarantine_entry_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "enclosure" ADD CONSTRAINT "enclosure_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "placement" ADD CONSTRAINT "placement_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "placement" ADD CONSTRAINT "placement_enclosure_id_fkey" FOREIGN KEY ("enclosure_id") REFERENCES "enclosure"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "office" ADD CONSTRAINT "office_club_id_fkey" FOREIGN KEY ("club_id") REFERENCES "club"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "office" ADD CONSTRAINT "office_account_id_fkey" FOREIGN KEY ("account_id") REFERENCES "account"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "office" ADD CONSTRAINT "office_taxon_id_fkey" FOREIGN KEY ("taxon_id") REFERENCES "taxon"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "mail_message" ADD CONSTRAINT "mail_message_account_id_fkey" FOREIGN KEY ("account_id") REFERENCES "account"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "origin_check" ADD CONSTRAINT "origin_check_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;



-- Hand-written part. Each rule below is listed in prisma/CONSTRAINTS.md.

ALTER TABLE placement ADD CONSTRAINT placement_day_order CHECK (valid_from <= valid_to);
ALTER TABLE mating ADD CONSTRAINT mating_day_order CHECK (earliest <= latest);
ALTER TABLE clutch ADD CONSTRAINT clutch_day_order CHECK (earliest <= latest);
ALTER TABLE hatching ADD CONSTRAINT hatching_day_order CHECK (earliest <= latest);
ALTER TABLE holding_document ADD CONSTRAINT holding_document_day_order CHECK (valid_from <= valid_until);
ALTER TABLE quarantine_entry ADD CONSTRAINT quarantine_entry_day_order CHECK (entered_on <= left_on);
ALTER TABLE office ADD CONSTRAINT office_day_order CHECK (valid_from <= valid_to);

-- No animal is in two places at once.
ALTER TABLE placement ADD CONSTRAINT placement_no_overlap EXCLUDE USING gist
  (animal_id WITH =, daterange(valid_from, valid_to) WITH &&) WHERE (superseded_at IS NULL);

ALTER TABLE mating ADD CONSTRAINT mating_two_animals CHECK (dam_id <> sire_id);
ALTER TABLE clutch ADD CONSTRAINT clutch_egg_count CHECK (egg_count > 0);
CREATE UNIQUE INDEX hatching_one_in_force ON hatching (animal_id) WHERE superseded_at IS NULL;

-- An animal, a quantity of a taxon, or (neither) the whole collection.
ALTER TABLE document_cover ADD CONSTRAINT document_cover_one_subject CHECK (animal_id IS NULL OR (taxon_id IS NULL AND quantity IS NULL));
ALTER TABLE document_cover ADD CONSTRAINT document_cover_quantity CHECK (quantity IS NULL OR (quantity > 0 AND taxon_id IS NOT NULL));
ALTER TABLE document_file ADD CONSTRAINT document_file_size CHECK (size > 0);

ALTER TABLE quarantine_group ADD CONSTRAINT quarantine_group_days CHECK (days > 0);
ALTER TABLE quarantine_group ADD CONSTRAINT quarantine_group_release_told CHECK ((released_on IS NULL) = (release_reason IS NULL));
CREATE UNIQUE INDEX quarantine_entry_one_open ON quarantine_entry (animal_id) WHERE left_on IS NULL;
