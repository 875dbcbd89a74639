-- Changes of who lives are kept for some days, not for ever: when each was noted, and up to which transaction they were deleted, so that
-- a reader who comes too late reads everything again (docs/adr/0008). No index on the day: the nightly deletion reads the table once.
-- Lock cost: a short exclusive lock on "living_change"; the default is no rewrite. What is there counts as noted now.

-- AlterTable
ALTER TABLE "living_change" ADD COLUMN     "noted_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP;

-- CreateTable
CREATE TABLE "living_pruned" (
    "taxon_id" UUID NOT NULL,
    "transaction" BIGINT NOT NULL,

    CONSTRAINT "living_pruned_pkey" PRIMARY KEY ("taxon_id")
);
