-- What some of a lot were lost or found by can be corrected and taken back: the earlier version stays, superseded, and a lot
-- counts what is in force. What made other records (the opening, a split, a join, a raising) stays as it is.
-- Lock cost: a short exclusive lock on "lot_change" without a rewrite; the CHECKs scan it once. The new function takes no lock.

-- AlterTable
ALTER TABLE "lot_change" ADD COLUMN     "superseded_at" TIMESTAMPTZ(3),
ADD COLUMN     "superseded_because" TEXT,
ADD COLUMN     "superseded_by" UUID;



-- Hand-written part, see prisma/CONSTRAINTS.md.
ALTER TABLE lot_change ADD CONSTRAINT lot_change_superseded_told CHECK (superseded_at IS NOT NULL OR superseded_by IS NULL);
ALTER TABLE lot_change ADD CONSTRAINT lot_change_correctable CHECK (superseded_at IS NULL
  OR cause::text IN ('died', 'missing', 'stolen', 'escaped', 'found', 'corrected'));

CREATE OR REPLACE FUNCTION check_lot_balance() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  lot uuid;
  counted integer;
  summed bigint;
BEGIN
  IF TG_TABLE_NAME = 'animal' THEN lot := NEW.id; ELSE lot := NEW.lot_id; END IF;
  SELECT a.count INTO counted FROM animal a WHERE a.id = lot AND a.kind = 'lot';
  IF FOUND THEN
    SELECT coalesce(sum(c.delta), 0) INTO summed FROM lot_change c WHERE c.lot_id = lot AND c.superseded_at IS NULL;
    IF counted <> summed THEN
      RAISE EXCEPTION 'constraint "lot_balances": lot % counts % but its changes sum to %', lot, counted, summed
        USING ERRCODE = 'check_violation', CONSTRAINT = 'lot_balances';
    END IF;
  END IF;
  RETURN NULL;
END $$;
