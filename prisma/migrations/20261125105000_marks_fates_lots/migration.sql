-- Marks with an end, a series and what two readings have in common; conflicts of marks; photo documentation; reports of theft
-- with the right of reply; hybrids; more ways in which a lot grows and shrinks.
-- Lock cost: new columns without a rewrite, save for one UPDATE of every mark (milliseconds a thousand); the two indexes on
-- animal_mark and its new CHECKs hold a write lock on that table while they are built. All other tables are new.

-- CreateEnum
CREATE TYPE "photo_verdict" AS ENUM ('same', 'different', 'unsure');

-- AlterEnum
-- This migration adds more than one value to an enum.
-- With PostgreSQL versions 11 and earlier, this is not possible
-- in a single migration. This can be worked around by creating
-- multiple migrations, each migration adding only one value to
-- the enum.


ALTER TYPE "lot_change_cause" ADD VALUE 'joined_in';
ALTER TYPE "lot_change_cause" ADD VALUE 'joined_out';
ALTER TYPE "lot_change_cause" ADD VALUE 'raised_out';
ALTER TYPE "lot_change_cause" ADD VALUE 'missing';
ALTER TYPE "lot_change_cause" ADD VALUE 'stolen';
ALTER TYPE "lot_change_cause" ADD VALUE 'escaped';
ALTER TYPE "lot_change_cause" ADD VALUE 'found';

-- AlterTable
ALTER TABLE "animal" ADD COLUMN     "is_hybrid" BOOLEAN NOT NULL DEFAULT false;

-- AlterTable
ALTER TABLE "animal_mark" ADD COLUMN     "end_cause" TEXT,
ADD COLUMN     "fixed_view" TEXT,
ADD COLUMN     "interval_days" INTEGER,
ADD COLUMN     "match_value" TEXT,
ADD COLUMN     "series_id" UUID,
ADD COLUMN     "size" TEXT,
ADD COLUMN     "until_earliest" DATE,
ADD COLUMN     "until_edtf" TEXT,
ADD COLUMN     "until_latest" DATE,
ADD COLUMN     "with_scale" BOOLEAN;

-- CreateTable
CREATE TABLE "mark_conflict" (
    "id" UUID NOT NULL,
    "value" TEXT NOT NULL,
    "animal_a_id" UUID NOT NULL,
    "animal_b_id" UUID NOT NULL,
    "shared_code" BOOLEAN NOT NULL,
    "opened_at" TIMESTAMPTZ(3) NOT NULL,
    "resolved_at" TIMESTAMPTZ(3),
    "resolved_because" TEXT,

    CONSTRAINT "mark_conflict_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "photo_session" (
    "id" UUID NOT NULL,
    "mark_id" UUID NOT NULL,
    "taken_on" DATE NOT NULL,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "recorded_by" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "superseded_at" TIMESTAMPTZ(3),
    "reason" TEXT,

    CONSTRAINT "photo_session_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "photo_comparison" (
    "id" UUID NOT NULL,
    "session_id" UUID NOT NULL,
    "earlier_session_id" UUID NOT NULL,
    "verdict" "photo_verdict" NOT NULL,
    "confirmed_by" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "superseded_at" TIMESTAMPTZ(3),

    CONSTRAINT "photo_comparison_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "theft_report" (
    "id" UUID NOT NULL,
    "animal_id" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "respondent_id" UUID,
    "police_informed" BOOLEAN NOT NULL,
    "police_reference" TEXT,
    "statement" TEXT,
    "reported_at" TIMESTAMPTZ(3) NOT NULL,
    "reply" TEXT,
    "replied_at" TIMESTAMPTZ(3),
    "closed_at" TIMESTAMPTZ(3),

    CONSTRAINT "theft_report_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "mark_conflict_animal_a_id_idx" ON "mark_conflict"("animal_a_id");

-- CreateIndex
CREATE INDEX "mark_conflict_animal_b_id_idx" ON "mark_conflict"("animal_b_id");

-- CreateIndex
CREATE INDEX "mark_conflict_value_idx" ON "mark_conflict"("value");

-- CreateIndex
CREATE INDEX "photo_session_mark_id_taken_on_idx" ON "photo_session"("mark_id", "taken_on");

-- CreateIndex
CREATE INDEX "photo_comparison_session_id_idx" ON "photo_comparison"("session_id");

-- CreateIndex
CREATE INDEX "photo_comparison_earlier_session_id_idx" ON "photo_comparison"("earlier_session_id");

-- CreateIndex
CREATE INDEX "theft_report_animal_id_idx" ON "theft_report"("animal_id");

-- CreateIndex
CREATE INDEX "theft_report_keeper_id_idx" ON "theft_report"("keeper_id");

-- CreateIndex
CREATE INDEX "theft_report_respondent_id_idx" ON "theft_report"("respondent_id");

-- CreateIndex
CREATE INDEX "animal_mark_match_value_idx" ON "animal_mark"("match_value");

-- CreateIndex
CREATE INDEX "animal_mark_series_id_idx" ON "animal_mark"("series_id");

-- AddForeignKey
ALTER TABLE "mark_conflict" ADD CONSTRAINT "mark_conflict_animal_a_id_fkey" FOREIGN KEY ("animal_a_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "mark_conflict" ADD CONSTRAINT "mark_conflict_animal_b_id_fkey" FOREIGN KEY ("animal_b_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "photo_comparison" ADD CONSTRAINT "photo_comparison_session_id_fkey" FOREIGN KEY ("session_id") REFERENCES "photo_session"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "photo_comparison" ADD CONSTRAINT "photo_comparison_earlier_session_id_fkey" FOREIGN KEY ("earlier_session_id") REFERENCES "photo_session"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "theft_report" ADD CONSTRAINT "theft_report_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "theft_report" ADD CONSTRAINT "theft_report_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "theft_report" ADD CONSTRAINT "theft_report_respondent_id_fkey" FOREIGN KEY ("respondent_id") REFERENCES "keeper"("id") ON DELETE SET NULL ON UPDATE CASCADE;



-- Hand-written part, see prisma/CONSTRAINTS.md.
UPDATE "animal_mark" SET "series_id" = "id",
  "match_value" = CASE
    WHEN kind = 'transponder' AND value LIKE '999%' THEN NULL
    WHEN kind IN ('transponder', 'other_chip', 'ring', 'tag') THEN nullif(upper(regexp_replace(value, '[^0-9A-Za-z]', '', 'g')), '')
  END;
ALTER TABLE "animal_mark" ALTER COLUMN "series_id" SET NOT NULL;
CREATE UNIQUE INDEX animal_mark_one_in_force ON animal_mark (series_id) WHERE superseded_at IS NULL;
ALTER TABLE animal_mark ADD CONSTRAINT animal_mark_until_order CHECK (until_earliest <= until_latest);
ALTER TABLE animal_mark ADD CONSTRAINT animal_mark_end_told CHECK ((until_edtf IS NULL) = (end_cause IS NULL));
ALTER TABLE animal_mark ADD CONSTRAINT animal_mark_interval CHECK (interval_days > 0);

CREATE UNIQUE INDEX mark_conflict_one_open ON mark_conflict (value, animal_a_id, animal_b_id) WHERE resolved_at IS NULL;
ALTER TABLE mark_conflict ADD CONSTRAINT mark_conflict_order CHECK (animal_a_id < animal_b_id);
ALTER TABLE mark_conflict ADD CONSTRAINT mark_conflict_resolution_told CHECK ((resolved_at IS NULL) = (resolved_because IS NULL));

CREATE UNIQUE INDEX photo_session_one_a_day ON photo_session (mark_id, taken_on) WHERE superseded_at IS NULL;
CREATE UNIQUE INDEX photo_comparison_one_a_person ON photo_comparison (session_id, earlier_session_id, confirmed_by)
  WHERE superseded_at IS NULL;
ALTER TABLE photo_comparison ADD CONSTRAINT photo_comparison_two_sessions CHECK (session_id <> earlier_session_id);

CREATE UNIQUE INDEX theft_report_one_open ON theft_report (animal_id) WHERE closed_at IS NULL;
ALTER TABLE theft_report ADD CONSTRAINT theft_report_reply_told CHECK ((reply IS NULL) = (replied_at IS NULL));
ALTER TABLE theft_report ADD CONSTRAINT theft_report_not_to_self CHECK (respondent_id <> keeper_id);

-- The new causes are compared as text: a value added to an enum cannot be used in the transaction that adds it.
ALTER TABLE lot_change DROP CONSTRAINT lot_change_direction;
ALTER TABLE lot_change ADD CONSTRAINT lot_change_direction CHECK (
  CASE
    WHEN cause::text IN ('opening', 'split_in', 'joined_in', 'found') THEN delta > 0
    WHEN cause::text = 'corrected' THEN delta <> 0
    ELSE delta < 0
  END);
