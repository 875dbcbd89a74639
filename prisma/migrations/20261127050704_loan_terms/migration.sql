-- Terms of a breeding loan, fixed with its offer, and the history of its last day: each ask for another day, each recall.
-- Lock cost: new tables; writes to transfer wait while the index over the last days is built (loans only).

-- CreateEnum
CREATE TYPE "loan_side" AS ENUM ('lender', 'borrower');

-- CreateEnum
CREATE TYPE "loan_cost_bearer" AS ENUM ('lender', 'borrower', 'shared');

-- CreateEnum
CREATE TYPE "loan_death" AS ENUM ('nothing_due', 'value_due');

-- CreateEnum
CREATE TYPE "young_split" AS ENUM ('by_turns', 'shared');

-- CreateEnum
CREATE TYPE "odd_young" AS ENUM ('alternates', 'lender', 'borrower', 'paid_out');

-- CreateEnum
CREATE TYPE "young_bred_by" AS ENUM ('lender', 'borrower', 'both');

-- CreateEnum
CREATE TYPE "loan_day_outcome" AS ENUM ('agreed', 'declined', 'withdrawn', 'recalled');

-- CreateTable
CREATE TABLE "loan_terms" (
    "transfer_id" UUID NOT NULL,
    "recall_days" INTEGER,
    "keep_costs" "loan_cost_bearer",
    "vet_costs" "loan_cost_bearer",
    "on_death" "loan_death",
    "value_minor" BIGINT,
    "value_currency" TEXT,
    "lender_parts" INTEGER,
    "of_parts" INTEGER,
    "split_method" "young_split",
    "first_pick" "loan_side",
    "odd_one" "odd_young",
    "young_bred_by" "young_bred_by",

    CONSTRAINT "loan_terms_pkey" PRIMARY KEY ("transfer_id")
);

-- CreateTable
CREATE TABLE "loan_extension" (
    "id" UUID NOT NULL,
    "transfer_id" UUID NOT NULL,
    "asked_by" "loan_side" NOT NULL,
    "asked_at" TIMESTAMPTZ(3) NOT NULL,
    "due_back" DATE NOT NULL,
    "due_back_before" DATE NOT NULL,
    "answered_at" TIMESTAMPTZ(3),
    "outcome" "loan_day_outcome",

    CONSTRAINT "loan_extension_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "loan_extension_transfer_id_idx" ON "loan_extension"("transfer_id");

-- AddForeignKey
ALTER TABLE "loan_terms" ADD CONSTRAINT "loan_terms_transfer_id_fkey" FOREIGN KEY ("transfer_id") REFERENCES "transfer"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "loan_extension" ADD CONSTRAINT "loan_extension_transfer_id_fkey" FOREIGN KEY ("transfer_id") REFERENCES "transfer"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- Hand-written part

ALTER TABLE loan_terms ADD CONSTRAINT loan_terms_recall CHECK (recall_days BETWEEN 0 AND 365);
-- A value that is due can be gone: it goes with a lender who asked to be forgotten.
ALTER TABLE loan_terms ADD CONSTRAINT loan_terms_value CHECK (
  (value_minor IS NULL) = (value_currency IS NULL)
  AND (value_minor IS NULL OR (value_minor > 0 AND on_death IS NOT DISTINCT FROM 'value_due'))
);
ALTER TABLE loan_terms ADD CONSTRAINT loan_terms_split CHECK (
  (split_method IS NULL) = (lender_parts IS NULL) AND (split_method IS NULL) = (of_parts IS NULL)
  AND of_parts BETWEEN 1 AND 100 AND lender_parts BETWEEN 0 AND of_parts
  AND (first_pick IS NOT NULL) = (split_method IS NOT DISTINCT FROM 'by_turns')
  AND (odd_one IS NOT NULL) = (split_method IS NOT DISTINCT FROM 'by_turns')
);
ALTER TABLE loan_extension ADD CONSTRAINT loan_extension_answer_told CHECK ((answered_at IS NULL) = (outcome IS NULL));
ALTER TABLE loan_extension ADD CONSTRAINT loan_extension_recall CHECK (
  outcome IS DISTINCT FROM 'recalled' OR (asked_by = 'lender' AND answered_at = asked_at)
);
ALTER TABLE loan_extension ADD CONSTRAINT loan_extension_other_day CHECK (due_back <> due_back_before);
CREATE UNIQUE INDEX loan_extension_one_open ON loan_extension (transfer_id) WHERE answered_at IS NULL;
CREATE INDEX transfer_due_back ON transfer (due_back) WHERE due_back IS NOT NULL;
