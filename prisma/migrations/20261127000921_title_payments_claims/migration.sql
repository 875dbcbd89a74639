-- Property apart from custody: loans and returns, property that waits for payment with instalments and payments, shares of an
-- animal, and claims of ownership with the statements of both sides.
-- Lock cost: ACCESS EXCLUSIVE on transfer and transfer_item for an instant (new columns are null or constant), while the two
-- CHECKs read them once; the rest are new tables. New enum values are compared as text, because a transaction cannot use a
-- value it has just added.

-- CreateEnum
CREATE TYPE "transfer_title" AS ENUM ('on_receipt', 'when_paid', 'stays');

-- CreateEnum
CREATE TYPE "payment_state" AS ENUM ('declared', 'confirmed', 'questioned');

-- CreateEnum
CREATE TYPE "claim_outcome" AS ENUM ('withdrawn', 'settled');

-- AlterEnum
ALTER TYPE "transfer_kind" ADD VALUE 'breeding_loan';
ALTER TYPE "transfer_kind" ADD VALUE 'loan_return';

-- AlterTable
ALTER TABLE "transfer" ADD COLUMN     "due_back" DATE,
ADD COLUMN     "paid_up_on" DATE,
ADD COLUMN     "title" "transfer_title" NOT NULL DEFAULT 'on_receipt';

-- AlterTable
ALTER TABLE "transfer_item" ADD COLUMN     "share_of" INTEGER,
ADD COLUMN     "share_parts" INTEGER,
ADD COLUMN     "title_due" BOOLEAN NOT NULL DEFAULT false;

-- CreateTable
CREATE TABLE "transfer_instalment" (
    "transfer_id" UUID NOT NULL,
    "number" INTEGER NOT NULL,
    "due_on" DATE NOT NULL,
    "minor" BIGINT NOT NULL,

    CONSTRAINT "transfer_instalment_pkey" PRIMARY KEY ("transfer_id","number")
);

-- CreateTable
CREATE TABLE "transfer_payment" (
    "id" UUID NOT NULL,
    "transfer_id" UUID NOT NULL,
    "minor" BIGINT NOT NULL,
    "paid_on" DATE NOT NULL,
    "state" "payment_state" NOT NULL DEFAULT 'declared',
    "note" TEXT,
    "answer_note" TEXT,
    "declared_at" TIMESTAMPTZ(3) NOT NULL,
    "answered_at" TIMESTAMPTZ(3),

    CONSTRAINT "transfer_payment_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ownership_claim" (
    "id" UUID NOT NULL,
    "animal_id" UUID NOT NULL,
    "claimant_id" UUID NOT NULL,
    "statement" TEXT NOT NULL,
    "share_parts" INTEGER NOT NULL,
    "share_of" INTEGER NOT NULL,
    "since" DATE NOT NULL,
    "made_at" TIMESTAMPTZ(3) NOT NULL,
    "proposal" INTEGER NOT NULL DEFAULT 0,
    "proposed_at" TIMESTAMPTZ(3),
    "ended_at" TIMESTAMPTZ(3),
    "outcome" "claim_outcome",

    CONSTRAINT "ownership_claim_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ownership_claim_party" (
    "claim_id" UUID NOT NULL,
    "number" INTEGER NOT NULL,
    "keeper_id" UUID,
    "outside_party_id" UUID,
    "recorded_parts" INTEGER NOT NULL,
    "proposed_parts" INTEGER,
    "agreed_to" INTEGER,
    "reply" TEXT,
    "replied_at" TIMESTAMPTZ(3),

    CONSTRAINT "ownership_claim_party_pkey" PRIMARY KEY ("claim_id","number")
);

-- CreateIndex
CREATE INDEX "transfer_instalment_due_on_idx" ON "transfer_instalment"("due_on");

-- CreateIndex
CREATE INDEX "transfer_payment_transfer_id_idx" ON "transfer_payment"("transfer_id");

-- CreateIndex
CREATE INDEX "ownership_claim_animal_id_idx" ON "ownership_claim"("animal_id");

-- CreateIndex
CREATE INDEX "ownership_claim_claimant_id_idx" ON "ownership_claim"("claimant_id");

-- CreateIndex
CREATE INDEX "ownership_claim_party_keeper_id_idx" ON "ownership_claim_party"("keeper_id");

-- CreateIndex
CREATE INDEX "ownership_claim_party_outside_party_id_idx" ON "ownership_claim_party"("outside_party_id");

-- AddForeignKey
ALTER TABLE "transfer_instalment" ADD CONSTRAINT "transfer_instalment_transfer_id_fkey" FOREIGN KEY ("transfer_id") REFERENCES "transfer"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "transfer_payment" ADD CONSTRAINT "transfer_payment_transfer_id_fkey" FOREIGN KEY ("transfer_id") REFERENCES "transfer"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ownership_claim" ADD CONSTRAINT "ownership_claim_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ownership_claim" ADD CONSTRAINT "ownership_claim_claimant_id_fkey" FOREIGN KEY ("claimant_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ownership_claim_party" ADD CONSTRAINT "ownership_claim_party_claim_id_fkey" FOREIGN KEY ("claim_id") REFERENCES "ownership_claim"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ownership_claim_party" ADD CONSTRAINT "ownership_claim_party_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ownership_claim_party" ADD CONSTRAINT "ownership_claim_party_outside_party_id_fkey" FOREIGN KEY ("outside_party_id") REFERENCES "outside_party"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- Hand-written part

ALTER TABLE transfer ADD CONSTRAINT transfer_title_terms CHECK (
  (kind::text IN ('breeding_loan', 'loan_return')) = (title::text = 'stays')
  AND (kind::text = 'breeding_loan') = (due_back IS NOT NULL)
  AND (title::text <> 'when_paid' OR coalesce(price_minor, 0) > 0)
  AND (paid_up_on IS NULL OR title::text = 'when_paid')
  AND (title::text = 'on_receipt' OR to_outside_party_id IS NULL)
);
ALTER TABLE transfer_item ADD CONSTRAINT transfer_item_share CHECK (
  (share_parts IS NULL) = (share_of IS NULL) AND share_parts > 0 AND share_parts <= share_of
);
ALTER TABLE transfer_instalment ADD CONSTRAINT transfer_instalment_amount CHECK (number > 0 AND minor > 0);
ALTER TABLE transfer_payment ADD CONSTRAINT transfer_payment_amount CHECK (minor > 0);
ALTER TABLE transfer_payment ADD CONSTRAINT transfer_payment_answer_told CHECK (
  (state = 'declared') = (answered_at IS NULL)
);
ALTER TABLE ownership_claim ADD CONSTRAINT ownership_claim_share CHECK (share_parts > 0 AND share_parts <= share_of);
ALTER TABLE ownership_claim ADD CONSTRAINT ownership_claim_end_told CHECK ((ended_at IS NULL) = (outcome IS NULL));
CREATE UNIQUE INDEX ownership_claim_one_open ON ownership_claim (animal_id) WHERE ended_at IS NULL;
ALTER TABLE ownership_claim_party ADD CONSTRAINT ownership_claim_party_one CHECK (num_nonnulls(keeper_id, outside_party_id) = 1);
ALTER TABLE ownership_claim_party ADD CONSTRAINT ownership_claim_party_told CHECK (
  recorded_parts >= 0 AND proposed_parts >= 0 AND (reply IS NULL) = (replied_at IS NULL)
);
