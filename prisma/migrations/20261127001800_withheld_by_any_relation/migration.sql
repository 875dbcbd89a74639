-- What a keeper withholds of an animal as its holder it does not show as its owner either, nor the other way round.
-- Lock cost: none to speak of, a view is replaced.

CREATE OR REPLACE VIEW access_sharing AS
SELECT a.id AS access_id, a.animal_id, a.keeper_id, a.relation, a.valid_from, a.valid_to, k.region,
       coalesce(a.holdings, k.holdings_shown) AS holdings,
       k.lineage_shared AND NOT a.lineage_withheld AND NOT EXISTS (
         SELECT 1 FROM animal_access w
         WHERE w.animal_id = a.animal_id AND w.keeper_id = a.keeper_id AND w.valid_to IS NULL AND w.lineage_withheld) AS lineage_shared
FROM animal_access a JOIN keeper k ON k.id = a.keeper_id
WHERE a.relation IN ('holder', 'owner');
