-- A stay in quarantine that ended because its record was merged into another one says so: undoing the merge opens that stay again and
-- none that ended otherwise on the same day.
-- Lock cost: a short exclusive lock on "quarantine_entry" without a rewrite; the CHECK scans it once.
ALTER TABLE "quarantine_entry" ADD COLUMN "merged" BOOLEAN NOT NULL DEFAULT false;
ALTER TABLE quarantine_entry ADD CONSTRAINT quarantine_entry_merged_left CHECK (left_on IS NOT NULL OR NOT merged);
