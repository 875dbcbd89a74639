-- Merges of two records of one animal, as facts; what a claim on a parent rests on, in words.
-- Lock cost: one nullable column without default, no rewrite; a new empty table.

-- AlterTable
ALTER TABLE "parentage_claim" ADD COLUMN     "evidence" TEXT;

-- CreateTable
CREATE TABLE "record_merge" (
    "id" UUID NOT NULL,
    "keep_id" UUID NOT NULL,
    "merged_id" UUID NOT NULL,
    "because" TEXT NOT NULL,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "recorded_by" UUID NOT NULL,
    "superseded_at" TIMESTAMPTZ(3),
    "superseded_by" UUID,
    "reason" TEXT,

    CONSTRAINT "record_merge_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "record_merge_keep_id_idx" ON "record_merge"("keep_id");

-- CreateIndex
CREATE INDEX "record_merge_merged_id_idx" ON "record_merge"("merged_id");

-- AddForeignKey
ALTER TABLE "record_merge" ADD CONSTRAINT "record_merge_keep_id_fkey" FOREIGN KEY ("keep_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "record_merge" ADD CONSTRAINT "record_merge_merged_id_fkey" FOREIGN KEY ("merged_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE "record_merge" ADD CONSTRAINT "record_merge_two_records" CHECK (keep_id <> merged_id);
ALTER TABLE "record_merge" ADD CONSTRAINT "record_merge_undone_told" CHECK ((superseded_at IS NULL) = (reason IS NULL));
CREATE UNIQUE INDEX "record_merge_one_in_force" ON "record_merge" (merged_id) WHERE superseded_at IS NULL;
CREATE INDEX "animal_merged_into_id_idx" ON "animal" (merged_into_id) WHERE merged_into_id IS NOT NULL;
