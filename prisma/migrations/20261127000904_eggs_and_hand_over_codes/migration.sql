-- Eggs that are handed over, what goes along of the breeding records, and the code of a hand-over in person. Lock cost: the new
-- tables lock nothing; the columns of egg, egg_event and hatching are added without a default, which takes each table for a moment.

-- AlterEnum
ALTER TYPE "egg_event_kind" ADD VALUE 'top_marked';

-- AlterTable
ALTER TABLE "egg" ADD COLUMN     "on_its_way" UUID;

-- AlterTable
ALTER TABLE "egg_event" ADD COLUMN     "keeper_id" UUID;

-- AlterTable
ALTER TABLE "hatching" ADD COLUMN     "keeper_id" UUID;

-- CreateTable
CREATE TABLE "egg_custody" (
    "id" UUID NOT NULL,
    "egg_id" UUID NOT NULL,
    "keeper_id" UUID,
    "transfer_id" UUID NOT NULL,
    "valid_from" DATE NOT NULL,
    "valid_to" DATE,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "end_recorded" TIMESTAMPTZ(3),

    CONSTRAINT "egg_custody_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "breeding_share" (
    "id" UUID NOT NULL,
    "transfer_id" UUID NOT NULL,
    "from_keeper_id" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "clutch_id" UUID,
    "dam_id" UUID,
    "shared_at" TIMESTAMPTZ(3) NOT NULL,
    "ended_at" TIMESTAMPTZ(3),

    CONSTRAINT "breeding_share_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "transfer_egg" (
    "transfer_id" UUID NOT NULL,
    "egg_id" UUID NOT NULL,
    "open" BOOLEAN NOT NULL,
    "not_sent" BOOLEAN NOT NULL DEFAULT false,
    "arrival" "arrival_state",
    "received_on" DATE,

    CONSTRAINT "transfer_egg_pkey" PRIMARY KEY ("transfer_id","egg_id")
);

-- CreateTable
CREATE TABLE "hand_over_code" (
    "id" UUID NOT NULL,
    "transfer_id" UUID NOT NULL,
    "opened_for" "transfer_side" NOT NULL,
    "opened_by" UUID NOT NULL,
    "opened_at" TIMESTAMPTZ(3) NOT NULL,
    "expires_at" TIMESTAMPTZ(3) NOT NULL,
    "code_hash" TEXT NOT NULL,
    "wrong_tries" INTEGER NOT NULL DEFAULT 0,
    "closed_at" TIMESTAMPTZ(3),
    "used_at" TIMESTAMPTZ(3),

    CONSTRAINT "hand_over_code_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "egg_custody_egg_id_idx" ON "egg_custody"("egg_id");

-- CreateIndex
CREATE INDEX "egg_custody_keeper_id_idx" ON "egg_custody"("keeper_id");

-- CreateIndex
CREATE INDEX "egg_custody_transfer_id_idx" ON "egg_custody"("transfer_id");

-- CreateIndex
CREATE INDEX "breeding_share_transfer_id_idx" ON "breeding_share"("transfer_id");

-- CreateIndex
CREATE INDEX "breeding_share_clutch_id_idx" ON "breeding_share"("clutch_id");

-- CreateIndex
CREATE INDEX "breeding_share_dam_id_idx" ON "breeding_share"("dam_id");

-- CreateIndex
CREATE INDEX "breeding_share_keeper_id_idx" ON "breeding_share"("keeper_id");

-- CreateIndex
CREATE INDEX "transfer_egg_egg_id_idx" ON "transfer_egg"("egg_id");

-- CreateIndex
CREATE INDEX "hand_over_code_transfer_id_idx" ON "hand_over_code"("transfer_id");

-- AddForeignKey
ALTER TABLE "egg_custody" ADD CONSTRAINT "egg_custody_egg_id_fkey" FOREIGN KEY ("egg_id") REFERENCES "egg"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "egg_custody" ADD CONSTRAINT "egg_custody_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "breeding_share" ADD CONSTRAINT "breeding_share_clutch_id_fkey" FOREIGN KEY ("clutch_id") REFERENCES "clutch"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "breeding_share" ADD CONSTRAINT "breeding_share_dam_id_fkey" FOREIGN KEY ("dam_id") REFERENCES "animal"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "breeding_share" ADD CONSTRAINT "breeding_share_from_keeper_id_fkey" FOREIGN KEY ("from_keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "breeding_share" ADD CONSTRAINT "breeding_share_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "egg_event" ADD CONSTRAINT "egg_event_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "hatching" ADD CONSTRAINT "hatching_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "transfer_egg" ADD CONSTRAINT "transfer_egg_transfer_id_fkey" FOREIGN KEY ("transfer_id") REFERENCES "transfer"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "transfer_egg" ADD CONSTRAINT "transfer_egg_egg_id_fkey" FOREIGN KEY ("egg_id") REFERENCES "egg"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "hand_over_code" ADD CONSTRAINT "hand_over_code_transfer_id_fkey" FOREIGN KEY ("transfer_id") REFERENCES "transfer"("id") ON DELETE RESTRICT ON UPDATE CASCADE;



-- One keeper an egg on each day, and one open transfer an egg.
ALTER TABLE egg_custody ADD CONSTRAINT egg_custody_no_overlap EXCLUDE USING gist
  (egg_id WITH =, daterange(valid_from, valid_to) WITH &&);
ALTER TABLE egg_custody ADD CONSTRAINT egg_custody_end_told CHECK ((valid_to IS NULL) = (end_recorded IS NULL));
CREATE UNIQUE INDEX egg_custody_one_now ON egg_custody (egg_id) WHERE valid_to IS NULL;
CREATE UNIQUE INDEX transfer_egg_one_open ON transfer_egg (egg_id) WHERE open;
ALTER TABLE transfer_egg ADD CONSTRAINT transfer_egg_arrival_told CHECK ((arrival IS NULL) = (received_on IS NULL));

-- A share is of a clutch or of what can have made a dam gravid.
ALTER TABLE breeding_share ADD CONSTRAINT breeding_share_one_subject CHECK ((clutch_id IS NULL) <> (dam_id IS NULL));
CREATE UNIQUE INDEX breeding_share_clutch_once ON breeding_share (transfer_id, keeper_id, clutch_id) WHERE clutch_id IS NOT NULL;
CREATE UNIQUE INDEX breeding_share_dam_once ON breeding_share (transfer_id, keeper_id, dam_id) WHERE dam_id IS NOT NULL;

-- One code of a transfer works at a time.
CREATE UNIQUE INDEX hand_over_code_one_open ON hand_over_code (transfer_id) WHERE closed_at IS NULL;
ALTER TABLE hand_over_code ADD CONSTRAINT hand_over_code_used_closed CHECK (used_at IS NULL OR closed_at IS NOT NULL);
