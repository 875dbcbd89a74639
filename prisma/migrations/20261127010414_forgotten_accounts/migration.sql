-- An account that was forgotten acts for no keeper and holds no office, not even through a request that was under way at that
-- moment: another owner or registrar could leave on the strength of somebody who is not there.
-- Lock cost: the triggers take a short exclusive lock on two tables each; rows that are there are not looked at.

-- Hand-written part

-- Waits for a forgetting under way, and sees it: a foreign key is content with the row that stays.
CREATE FUNCTION require_account_not_forgotten() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM FROM "account" WHERE "id" = NEW.account_id AND "email" NOT LIKE 'forgotten:%' FOR KEY SHARE;
  IF NOT FOUND THEN
    RAISE EXCEPTION 'constraint "%": account % was forgotten', TG_NAME, NEW.account_id USING ERRCODE = 'check_violation', CONSTRAINT = TG_NAME;
  END IF;
  RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER "keeper_member_account_not_forgotten" AFTER INSERT OR UPDATE OF "ended_at" ON "keeper_member" FOR EACH ROW
  WHEN (NEW."ended_at" IS NULL) EXECUTE FUNCTION require_account_not_forgotten();
CREATE CONSTRAINT TRIGGER "office_account_not_forgotten" AFTER INSERT ON "office" FOR EACH ROW
  EXECUTE FUNCTION require_account_not_forgotten();
