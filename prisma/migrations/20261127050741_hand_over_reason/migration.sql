-- Whether a hand-over by code was opened with a reason, in spite of a quarantine.
-- Lock cost: ACCESS EXCLUSIVE on hand_over_code for an instant; the default is constant, so no row is rewritten.

-- AlterTable
ALTER TABLE "hand_over_code" ADD COLUMN     "reason_given" BOOLEAN NOT NULL DEFAULT false;
