-- Declared founders, records merged into another, and development without a sire.
-- Lock cost: new columns with constant defaults, no rewrite; the UPDATE touches the animals that count as founders, once.

-- AlterTable
ALTER TABLE "animal" ADD COLUMN     "declared_founder" BOOLEAN NOT NULL DEFAULT false,
ADD COLUMN     "merged_into_id" UUID;

-- AlterTable
ALTER TABLE "parentage_claim" ADD COLUMN     "without_sire" BOOLEAN NOT NULL DEFAULT false;

-- AddForeignKey
ALTER TABLE "animal" ADD CONSTRAINT "animal_merged_into_id_fkey" FOREIGN KEY ("merged_into_id") REFERENCES "animal"("id") ON DELETE SET NULL ON UPDATE CASCADE;

ALTER TABLE "animal" ADD CONSTRAINT "animal_not_merged_into_itself" CHECK (merged_into_id <> id);
ALTER TABLE "parentage_claim" ADD CONSTRAINT "parentage_claim_without_sire_role" CHECK (NOT without_sire OR role = 'sire');

-- Founders by what was said so far: taken from the wild, or in a pedigree file with both parents blank. All others without
-- recorded parents are animals whose parents are not known.
UPDATE "animal" a SET "declared_founder" = true
WHERE NOT EXISTS (SELECT 1 FROM "parentage_claim" c WHERE c.child_id = a.id AND c.superseded_at IS NULL)
  AND (a.origin_class = 'wild'
    OR EXISTS (SELECT 1 FROM "ledger_entry" l WHERE l.action = 'exchange.pedigree-registered' AND a.id = ANY(l.subjects)));
