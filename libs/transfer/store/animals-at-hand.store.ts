import { fromDateColumnOrNull } from '../../access/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { UNPICKED } from '../loan-young/split.store.js';
import { type AnimalAtHand } from '../core/transfer.core.js';

type Row = {
  id: string;
  kind: 'individual' | 'lot';
  fate: string;
  count: number;
  holder_keeper_id: string | null;
  held_since: Date | null;
  ownership_state: 'agreed' | 'disputed' | null;
  owners: { keeperId: string | null; parts: number }[];
  known_to_giver: boolean;
  open_transfer_id: string | null;
  undivided: boolean;
};

/**
 * The facts about animals that a hand-over by `giverId` is decided on, by id. Call `lockAnimals` first. One statement,
 * because every step of every transfer asks it. `apartFrom` is the transfer at hand, whose own items do not count as open.
 */
export async function readAnimalsAtHand(
  tx: Tx,
  giverId: string,
  animalIds: readonly string[],
  apartFrom: string | null,
): Promise<Map<string, AnimalAtHand>> {
  const rows = await tx.db.$queryRaw<Row[]>`
    SELECT a.id, a.kind::text AS kind, a.fate::text AS fate, a.count,
           c.keeper_id AS holder_keeper_id, c.valid_from AS held_since, o.state::text AS ownership_state,
           (SELECT coalesce(jsonb_agg(jsonb_build_object('keeperId', s.keeper_id, 'parts', s.parts) ORDER BY s.id), '[]')
            FROM ownership_share s WHERE s.ownership_id = o.id) AS owners,
           EXISTS (SELECT 1 FROM animal_access x
                   WHERE x.animal_id = a.id AND x.keeper_id = ${giverId}::uuid
                     AND x.relation IN ('holder', 'owner') AND x.valid_to IS NULL) AS known_to_giver,
           i.transfer_id AS open_transfer_id,
           EXISTS (SELECT 1 FROM loan_young y JOIN loan_clutch lc ON lc.clutch_id = y.clutch_id
                   JOIN loan_terms lt ON lt.transfer_id = lc.transfer_id JOIN transfer lo ON lo.id = lc.transfer_id
                   WHERE y.animal_id = a.id AND ${UNPICKED}) AS undivided
    FROM animal a
    LEFT JOIN custody c ON c.animal_id = a.id AND c.superseded_at IS NULL AND c.valid_to IS NULL
    LEFT JOIN ownership o ON o.animal_id = a.id AND o.superseded_at IS NULL AND o.valid_to IS NULL
    LEFT JOIN transfer_item i ON i.animal_id = a.id AND i.open AND i.transfer_id IS DISTINCT FROM ${apartFrom}::uuid
    WHERE a.id = ANY(${[...animalIds]}::uuid[])`;
  return new Map(rows.map((row) => [row.id, toAnimalAtHand(row, giverId)]));
}

function toAnimalAtHand(row: Row, giverId: string): AnimalAtHand {
  const owns = row.owners.some(({ keeperId }) => keeperId === giverId);
  return {
    id: row.id,
    kind: row.kind,
    fate: row.fate,
    count: row.count,
    holderKeeperId: row.holder_keeper_id,
    heldSince: fromDateColumnOrNull(row.held_since),
    ownership: row.ownership_state === 'disputed' ? 'disputed' : owns ? 'owner' : 'not_owner',
    owners: row.owners,
    knownToGiver: row.known_to_giver,
    openTransferId: row.open_transfer_id,
    undivided: row.undivided,
  };
}
