-- Which animals changed in what their population's numbers need beside their parents: read by whoever keeps a pedigree in memory.
-- Lock cost: a new table; the trigger takes a short exclusive lock on "animal", which waits for writers under way.

-- CreateTable
CREATE TABLE "living_change" (
    "taxon_id" UUID NOT NULL,
    "transaction" BIGINT NOT NULL,
    "animal_id" UUID NOT NULL,

    CONSTRAINT "living_change_pkey" PRIMARY KEY ("taxon_id","transaction","animal_id")
);

-- One place for every way in which a fate, kind, merge, taxon or founder changes. A row of its own for each change, so that
-- nobody waits for anybody (docs/adr/0008). A new animal needs none: it enters a pedigree by its lineage_change.
CREATE FUNCTION note_living_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO living_change (taxon_id, transaction, animal_id)
  VALUES (OLD.taxon_id, pg_current_xact_id()::text::bigint, OLD.id) ON CONFLICT DO NOTHING;
  IF TG_OP = 'UPDATE' AND NEW.taxon_id <> OLD.taxon_id THEN
    INSERT INTO living_change (taxon_id, transaction, animal_id)
    VALUES (NEW.taxon_id, pg_current_xact_id()::text::bigint, NEW.id) ON CONFLICT DO NOTHING;
  END IF;
  RETURN NULL;
END $$;
CREATE TRIGGER animal_living_changed AFTER UPDATE ON animal FOR EACH ROW
  WHEN ((OLD.fate, OLD.kind, OLD.taxon_id, OLD.merged_into_id, OLD.declared_founder)
    IS DISTINCT FROM (NEW.fate, NEW.kind, NEW.taxon_id, NEW.merged_into_id, NEW.declared_founder))
  EXECUTE FUNCTION note_living_change();
CREATE TRIGGER animal_living_removed AFTER DELETE ON animal FOR EACH ROW EXECUTE FUNCTION note_living_change();
