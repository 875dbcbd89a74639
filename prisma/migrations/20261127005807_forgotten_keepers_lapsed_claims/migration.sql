-- Keepers whose last owner was forgotten are marked, so that nothing comes to them any more, not even from a request that was under
-- way at that moment; and claims of ownership say since when it is the claimant's turn, so that one nobody pursues can lapse.
-- Lock cost: columns without a default and a value of an enum; the triggers take a short exclusive lock on four tables each, and
-- keepers forgotten before are found once by having nobody who acts for them.

-- AlterEnum
ALTER TYPE "claim_outcome" ADD VALUE 'lapsed';

-- AlterTable
ALTER TABLE "keeper" ADD COLUMN     "forgotten_at" TIMESTAMPTZ(3);

-- AlterTable
ALTER TABLE "ownership_claim" ADD COLUMN     "awaits_claimant_since" TIMESTAMPTZ(3);

-- Hand-written part

UPDATE "keeper" k SET "forgotten_at" = e."at" FROM "ledger_entry" e
WHERE e."action" = 'account.forgotten' AND e."body"::jsonb -> 'keeperIds' ? k."id"::text;

ALTER TABLE "ownership_claim" ADD CONSTRAINT "ownership_claim_turn" CHECK ("awaits_claimant_since" IS NULL OR "ended_at" IS NULL);

-- Claims that were answered before: their claimants have all their days from now on.
UPDATE "ownership_claim" c SET "awaits_claimant_since" = now() WHERE "ended_at" IS NULL AND EXISTS (
  SELECT FROM "ownership_claim_party" p WHERE p."claim_id" = c."id" AND p."number" > 1 AND p."replied_at" IS NOT NULL);

-- Waits for a forgetting under way, and sees it: a foreign key is content with the row that stays.
CREATE FUNCTION require_keeper_not_forgotten() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM FROM "keeper" WHERE "id" = NEW.keeper_id AND "forgotten_at" IS NULL FOR KEY SHARE;
  IF NOT FOUND THEN
    RAISE EXCEPTION 'constraint "%": keeper % was forgotten', TG_NAME, NEW.keeper_id USING ERRCODE = 'check_violation', CONSTRAINT = TG_NAME;
  END IF;
  RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER "custody_keeper_not_forgotten" AFTER INSERT ON "custody" FOR EACH ROW
  WHEN (NEW."keeper_id" IS NOT NULL AND NEW."valid_to" IS NULL AND NEW."superseded_at" IS NULL) EXECUTE FUNCTION require_keeper_not_forgotten();
CREATE CONSTRAINT TRIGGER "egg_custody_keeper_not_forgotten" AFTER INSERT OR UPDATE OF "keeper_id" ON "egg_custody" FOR EACH ROW
  WHEN (NEW."keeper_id" IS NOT NULL AND NEW."valid_to" IS NULL) EXECUTE FUNCTION require_keeper_not_forgotten();
CREATE CONSTRAINT TRIGGER "keeper_member_keeper_not_forgotten" AFTER INSERT OR UPDATE OF "ended_at" ON "keeper_member" FOR EACH ROW
  WHEN (NEW."ended_at" IS NULL) EXECUTE FUNCTION require_keeper_not_forgotten();
CREATE CONSTRAINT TRIGGER "club_member_keeper_not_forgotten" AFTER INSERT ON "club_member" FOR EACH ROW
  WHEN (NEW."left_on" IS NULL) EXECUTE FUNCTION require_keeper_not_forgotten();
