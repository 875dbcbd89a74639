-- Clubs that choose to be found by name: region, taxa and how keepers come in. An index for the conflicts of chips of the last day.
-- Lock cost: club is locked for a moment (constants as defaults); writes to mark_conflict wait while its index is built.

-- CreateEnum
CREATE TYPE "club_admission" AS ENUM ('application', 'invitation');

-- AlterTable
ALTER TABLE "club" ADD COLUMN     "admission" "club_admission" NOT NULL DEFAULT 'application',
ADD COLUMN     "listed" BOOLEAN NOT NULL DEFAULT false,
ADD COLUMN     "region" TEXT;

-- CreateTable
CREATE TABLE "club_taxon" (
    "club_id" UUID NOT NULL,
    "taxon_id" UUID NOT NULL,

    CONSTRAINT "club_taxon_pkey" PRIMARY KEY ("club_id","taxon_id")
);

-- CreateIndex
CREATE INDEX "club_taxon_taxon_id_idx" ON "club_taxon"("taxon_id");

-- CreateIndex
CREATE INDEX "mark_conflict_opened_at_idx" ON "mark_conflict"("opened_at");

-- AddForeignKey
ALTER TABLE "club_taxon" ADD CONSTRAINT "club_taxon_club_id_fkey" FOREIGN KEY ("club_id") REFERENCES "club"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "club_taxon" ADD CONSTRAINT "club_taxon_taxon_id_fkey" FOREIGN KEY ("taxon_id") REFERENCES "taxon"("id") ON DELETE RESTRICT ON UPDATE CASCADE;


