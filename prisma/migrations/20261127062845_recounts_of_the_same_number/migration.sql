-- That a lot was counted is kept also where the number was right: what is corrected before it then changes no count after it.
-- Lock cost: a short exclusive lock on "lot_change", which the CHECK scans once.
ALTER TABLE lot_change DROP CONSTRAINT lot_change_direction;
ALTER TABLE lot_change ADD CONSTRAINT lot_change_direction CHECK (
  CASE
    WHEN cause::text IN ('opening', 'split_in', 'joined_in', 'found') THEN delta > 0
    WHEN cause::text = 'corrected' THEN true
    ELSE delta < 0
  END);
