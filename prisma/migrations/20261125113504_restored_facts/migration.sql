-- Facts that say an earlier, corrected or withdrawn fact again.
-- Lock: ACCESS EXCLUSIVE on animal_fact for the change of the catalogue alone; no row is rewritten (nullable, no default).
ALTER TABLE "animal_fact" ADD COLUMN "restores_id" UUID;
