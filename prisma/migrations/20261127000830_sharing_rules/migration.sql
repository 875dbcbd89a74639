-- Rules of sharing, and the history of what keepers set for everything they have. Apart from the migration before, because a
-- value added to an enum can only be used once that is committed.
-- Lock cost: the checks and the exclusion read "animal_access" once under an exclusive lock; one row a keeper is written.

-- Hand-written part

CREATE UNIQUE INDEX "collection_name_once" ON "collection" ("keeper_id", lower("name"));
ALTER TABLE "collection" ADD CONSTRAINT "collection_name_length" CHECK (char_length("name") BETWEEN 1 AND 100);
CREATE UNIQUE INDEX "collection_stay_one_in_force" ON "collection_stay" ("access_id") WHERE "ended_at" IS NULL;

ALTER TABLE "sharing_setting" ADD CONSTRAINT "sharing_setting_one_level" CHECK ("collection_id" IS NULL OR "access_id" IS NULL);
ALTER TABLE "sharing_setting" ADD CONSTRAINT "sharing_setting_keeper_decides" CHECK ("holdings" IS NOT NULL OR "collection_id" IS NOT NULL OR "access_id" IS NOT NULL);
CREATE UNIQUE INDEX "sharing_setting_one_a_keeper" ON "sharing_setting" ("keeper_id") WHERE "ended_at" IS NULL AND "collection_id" IS NULL AND "access_id" IS NULL;
CREATE UNIQUE INDEX "sharing_setting_one_a_collection" ON "sharing_setting" ("collection_id") WHERE "ended_at" IS NULL AND "collection_id" IS NOT NULL;
CREATE UNIQUE INDEX "sharing_setting_one_an_animal" ON "sharing_setting" ("access_id") WHERE "ended_at" IS NULL AND "access_id" IS NOT NULL;

-- Nobody reads as a guest without an end, and a keeper reads an animal as a guest once at a time.
ALTER TABLE "animal_access" ADD CONSTRAINT "animal_access_guest_ends" CHECK ("relation" <> 'guest' OR "valid_to" IS NOT NULL);
ALTER TABLE "animal_access" ADD CONSTRAINT "animal_access_guest_once" EXCLUDE USING gist
  ("animal_id" WITH =, "keeper_id" WITH =, daterange("valid_from", "valid_to") WITH &&) WHERE ("relation" = 'guest');

-- What was set is ended and never changed, so that who could see what stays answerable.
CREATE FUNCTION keep_sharing_setting() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF TG_OP = 'UPDATE' AND OLD.ended_at IS NULL AND (to_jsonb(NEW) - 'ended_at') = (to_jsonb(OLD) - 'ended_at') THEN RETURN NEW; END IF;
  RAISE EXCEPTION '% is append-only: % refused', TG_TABLE_NAME, TG_OP USING ERRCODE = 'restrict_violation', CONSTRAINT = 'append_only';
END $$;
CREATE TRIGGER sharing_setting_kept BEFORE UPDATE OR DELETE ON "sharing_setting" FOR EACH ROW EXECUTE FUNCTION keep_sharing_setting();
CREATE TRIGGER collection_stay_kept BEFORE UPDATE OR DELETE ON "collection_stay" FOR EACH ROW EXECUTE FUNCTION keep_sharing_setting();

-- The history of what a keeper sets for everything, whoever writes the columns of "keeper" it is read from today.
CREATE FUNCTION note_keeper_sharing() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  at timestamptz(3) := NEW.created_at;
  setter uuid;
BEGIN
  IF TG_OP = 'UPDATE' THEN
    at := clock_timestamp();
    IF NEW.sharing_set_at IS DISTINCT FROM OLD.sharing_set_at THEN
      at := coalesce(NEW.sharing_set_at, at);
      setter := NEW.sharing_set_by;
    END IF;
    UPDATE sharing_setting SET ended_at = greatest(at, set_at)
    WHERE keeper_id = NEW.id AND collection_id IS NULL AND access_id IS NULL AND ended_at IS NULL;
  END IF;
  INSERT INTO sharing_setting (id, keeper_id, holdings, lineage_withheld, set_at, set_by)
  VALUES (gen_random_uuid(), NEW.id, NEW.holdings_shown, NOT NEW.lineage_shared, at, setter);
  RETURN NULL;
END $$;
CREATE TRIGGER keeper_sharing_begun AFTER INSERT ON "keeper" FOR EACH ROW EXECUTE FUNCTION note_keeper_sharing();
CREATE TRIGGER keeper_sharing_changed AFTER UPDATE ON "keeper" FOR EACH ROW
  WHEN ((OLD.holdings_shown, OLD.lineage_shared) IS DISTINCT FROM (NEW.holdings_shown, NEW.lineage_shared))
  EXECUTE FUNCTION note_keeper_sharing();
INSERT INTO sharing_setting (id, keeper_id, holdings, lineage_withheld, set_at)
SELECT gen_random_uuid(), id, holdings_shown, NOT lineage_shared, created_at FROM keeper;

-- The one place that says what a keeper shows of an animal: what it set for the animal, else for its collection, else for everything.
CREATE VIEW access_sharing AS
SELECT a.id AS access_id, a.animal_id, a.keeper_id, a.relation, a.valid_from, a.valid_to, k.region,
       coalesce(a.holdings, k.holdings_shown) AS holdings, k.lineage_shared AND NOT a.lineage_withheld AS lineage_shared
FROM animal_access a JOIN keeper k ON k.id = a.keeper_id
WHERE a.relation IN ('holder', 'owner');
