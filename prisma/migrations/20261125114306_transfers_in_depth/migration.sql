-- Transfers in depth: offers that expire, cancelled and failed transfers, conditions, the way animals
-- travel, receipts item by item, and what clubs say of the checks before sending.
-- Lock cost: ACCESS EXCLUSIVE on transfer and transfer_item for an instant (new columns are null or constant); the two
-- CHECKs read transfer once, and every item of a received transfer is written once. New enum values are compared as
-- text here, because a transaction cannot use a value it has just added.

-- CreateEnum
CREATE TYPE "transfer_side" AS ENUM ('giver', 'receiver');

-- CreateEnum
CREATE TYPE "transfer_failure" AS ENUM ('came_back', 'never_arrived');

-- CreateEnum
CREATE TYPE "hand_over_way" AS ENUM ('in_person', 'shipment');

-- CreateEnum
CREATE TYPE "transit_risk" AS ENUM ('giver', 'receiver', 'carrier');

-- CreateEnum
CREATE TYPE "condition_kind" AS ENUM ('after_quarantine', 'document', 'other');

-- CreateEnum
CREATE TYPE "condition_settlement" AS ENUM ('met', 'waived');

-- CreateEnum
CREATE TYPE "send_check" AS ENUM ('document', 'quarantine', 'minimum');

-- CreateEnum
CREATE TYPE "check_effect" AS ENUM ('warn', 'block');

-- AlterEnum
ALTER TYPE "transfer_state" ADD VALUE 'expired';
ALTER TYPE "transfer_state" ADD VALUE 'cancelled';
ALTER TYPE "transfer_state" ADD VALUE 'failed';

-- AlterTable
ALTER TABLE "transfer" ADD COLUMN     "answer_by" DATE,
ADD COLUMN     "cancelled_by" "transfer_side",
ADD COLUMN     "carrier" TEXT,
ADD COLUMN     "ended_reason" TEXT,
ADD COLUMN     "failure" "transfer_failure",
ADD COLUMN     "failure_declared_at" TIMESTAMPTZ(3),
ADD COLUMN     "failure_declared_by" "transfer_side",
ADD COLUMN     "tracking" TEXT,
ADD COLUMN     "transit_risk" "transit_risk",
ADD COLUMN     "way" "hand_over_way";

-- AlterTable
ALTER TABLE "transfer_item" ADD COLUMN     "gravid" BOOLEAN NOT NULL DEFAULT false,
ADD COLUMN     "not_sent" BOOLEAN NOT NULL DEFAULT false,
ADD COLUMN     "note" TEXT,
ADD COLUMN     "received_on" DATE;

-- CreateTable
CREATE TABLE "transfer_arrival_photo" (
    "item_id" UUID NOT NULL,
    "file_id" UUID NOT NULL,

    CONSTRAINT "transfer_arrival_photo_pkey" PRIMARY KEY ("item_id","file_id")
);

-- CreateTable
CREATE TABLE "transfer_condition" (
    "id" UUID NOT NULL,
    "transfer_id" UUID NOT NULL,
    "kind" "condition_kind" NOT NULL,
    "document_kind" "holding_document_kind",
    "text" TEXT,
    "settled_as" "condition_settlement",
    "settled_at" TIMESTAMPTZ(3),

    CONSTRAINT "transfer_condition_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "club_policy" (
    "club_id" UUID NOT NULL,
    "check" "send_check" NOT NULL,
    "effect" "check_effect" NOT NULL,

    CONSTRAINT "club_policy_pkey" PRIMARY KEY ("club_id","check")
);

-- CreateIndex
CREATE INDEX "transfer_condition_transfer_id_idx" ON "transfer_condition"("transfer_id");

-- AddForeignKey
ALTER TABLE "transfer_arrival_photo" ADD CONSTRAINT "transfer_arrival_photo_item_id_fkey" FOREIGN KEY ("item_id") REFERENCES "transfer_item"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "transfer_arrival_photo" ADD CONSTRAINT "transfer_arrival_photo_file_id_fkey" FOREIGN KEY ("file_id") REFERENCES "animal_file"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "transfer_condition" ADD CONSTRAINT "transfer_condition_transfer_id_fkey" FOREIGN KEY ("transfer_id") REFERENCES "transfer"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "club_policy" ADD CONSTRAINT "club_policy_club_id_fkey" FOREIGN KEY ("club_id") REFERENCES "club"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- Hand-written part

ALTER TABLE transfer DROP CONSTRAINT transfer_closed_told;
ALTER TABLE transfer ADD CONSTRAINT transfer_closed_told CHECK (
  (closed_at IS NOT NULL) = (state::text IN ('received', 'declined', 'withdrawn', 'expired', 'cancelled', 'failed'))
);
ALTER TABLE transfer ADD CONSTRAINT transfer_end_told CHECK (
  (cancelled_by IS NOT NULL) = (state::text = 'cancelled')
  AND (failure IS NULL) = (failure_declared_by IS NULL)
  AND (failure IS NULL) = (failure_declared_at IS NULL)
  AND (failure IS NULL OR state::text IN ('sent', 'failed'))
  AND (state::text <> 'failed' OR failure IS NOT NULL)
);
CREATE INDEX transfer_offer_due ON transfer (answer_by, id) WHERE state = 'offered' AND answer_by IS NOT NULL;
ALTER TABLE transfer_condition ADD CONSTRAINT transfer_condition_told CHECK (
  (kind = 'document') = (document_kind IS NOT NULL) AND (kind = 'other') = (text IS NOT NULL)
  AND (settled_as IS NULL) = (settled_at IS NULL)
);

UPDATE transfer_item i SET received_on = t.received_on FROM transfer t WHERE t.id = i.transfer_id AND t.state = 'received';
