import { type PrismaClient } from '../../libs/platform/prisma/index.js';
import { type ClutchState, eggTold, youngOf } from './egg-replay.js';
import { sharesOf } from './egg-rules.js';
import { type Model } from './history-model.js';
import { inOrder, type Period } from './periods.js';

const text = (date: Date | null): string | null => date?.toISOString().slice(0, 10) ?? null;
const since = (date: Date | null): string => text(date) ?? '';

/** The clutches of these ids from the tables, as `EggReplay` gives them. `parties`: who without an account received a transfer. */
export async function readClutches(
  client: PrismaClient,
  ids: readonly string[],
  parties: ReadonlyMap<string, string>,
): Promise<Record<string, ClutchState>> {
  if (ids.length === 0) return {};
  const clutches = await client.clutch.findMany({
    where: { originalId: { in: [...ids] }, supersededAt: null },
    include: {
      eggs: { include: { custody: true } },
      eggEvents: { where: { supersededAt: null }, include: { egg: true } },
      hatchings: { where: { supersededAt: null }, include: { egg: true } },
    },
  });
  return Object.fromEntries(
    clutches.map(({ originalId, keeperId, damId, earliest, eggCount, eggs, eggEvents, hatchings }) => [
      originalId,
      {
        keeper: keeperId,
        dam: damId ?? '',
        laid: since(earliest),
        count: eggCount ?? 0,
        had: Object.fromEntries(
          eggs
            .filter(({ custody }) => custody.length > 0)
            .map(({ number, custody }) => [
              number,
              inOrder(
                custody.map((row): Period => [
                  row.keeperId ?? parties.get(row.transferId) ?? '',
                  since(row.validFrom),
                  text(row.validTo),
                ]),
              ),
            ]),
        ),
        told: eggEvents.map(({ egg, kind, earliest: on }) => eggTold(egg?.number ?? null, kind, since(on))).toSorted(),
        young: hatchings.map(({ egg, animalId }) => youngOf(egg?.number ?? null, animalId)).toSorted(),
      },
    ]),
  );
}

/** The same by a model. */
export function clutchesOf(model: Model): Record<string, ClutchState> {
  return Object.fromEntries(
    [...model.clutches.values()].map(({ id, keeper, dam, laid, count, had, events, young }) => [
      id,
      {
        ...{ keeper, dam, laid, count },
        had: Object.fromEntries(
          [...had].map(([egg, spans]) => [
            egg,
            inOrder(spans.map(({ holder, from, to }): Period => [holder, from, to])),
          ]),
        ),
        told: events.map(({ egg, kind, on }) => eggTold(egg, kind, on)).toSorted(),
        young: young.map(({ egg, animal }) => youngOf(egg, animal)).toSorted(),
      },
    ]),
  );
}

/** In which transfers clutches are shared with whom now, by the tables. */
export async function readShares(client: PrismaClient, clutchIds: readonly string[]): Promise<string[]> {
  if (clutchIds.length === 0) return [];
  const rows = await client.breedingShare.findMany({ where: { clutchId: { in: [...clutchIds] }, endedAt: null } });
  return rows.map(({ transferId, keeperId, clutchId }) => `${transferId} ${keeperId} ${clutchId}`).toSorted();
}

/** The same by a model. */
export function sharesBy(model: Model): string[] {
  return [...model.clutches.values()]
    .flatMap((clutch) => sharesOf(model, clutch).map(({ id, to }) => `${id} ${to} ${clutch.id}`))
    .toSorted();
}

/** Rows about eggs that must not be, over the whole database. */
export const FORBIDDEN_EGGS: Readonly<Record<string, string>> = {
  'two who have an egg on one day': `SELECT 1 FROM egg_custody a JOIN egg_custody b ON b.egg_id = a.egg_id AND b.id > a.id
    AND daterange(a.valid_from, a.valid_to) && daterange(b.valid_from, b.valid_to)`,
  'a day on which nobody has an egg': `SELECT 1 FROM (SELECT valid_to, lead(valid_from) OVER (PARTITION BY egg_id
      ORDER BY valid_from, valid_to NULLS LAST) AS next FROM egg_custody) c WHERE next IS DISTINCT FROM valid_to`,
  'an egg that was handed on before it was laid': `SELECT 1 FROM egg_custody h JOIN egg e ON e.id = h.egg_id
    JOIN clutch c ON c.original_id = e.clutch_id AND c.superseded_at IS NULL WHERE h.valid_from < c.earliest`,
  'an egg in two open transfers': `SELECT 1 FROM transfer_egg WHERE open GROUP BY egg_id HAVING count(*) > 1`,
  'an open egg of a transfer that is over': `SELECT 1 FROM transfer_egg i JOIN transfer t ON t.id = i.transfer_id
    WHERE i.open AND t.state NOT IN ('offered', 'accepted', 'sent')`,
  'an egg that is on its way and in no transfer that was sent, or the reverse': `SELECT 1 FROM egg e
    WHERE e.on_its_way IS DISTINCT FROM (SELECT t.id FROM transfer_egg i JOIN transfer t ON t.id = i.transfer_id
      WHERE i.egg_id = e.id AND i.open AND t.state = 'sent')`,
  'an egg that hatched twice': `SELECT 1 FROM egg_event WHERE kind = 'hatched' AND egg_id IS NOT NULL AND superseded_at IS NULL
    GROUP BY egg_id HAVING count(*) > 1`,
  'three young of one egg': `SELECT 1 FROM hatching WHERE egg_id IS NOT NULL AND superseded_at IS NULL
    GROUP BY egg_id HAVING count(*) > 2`,
  'young of an egg that is not said to have hatched': `SELECT 1 FROM hatching h WHERE h.egg_id IS NOT NULL AND h.superseded_at IS NULL
    AND NOT EXISTS (SELECT 1 FROM egg_event e WHERE e.clutch_id = h.clutch_id AND e.kind = 'hatched' AND e.superseded_at IS NULL
      AND (e.egg_id = h.egg_id OR e.egg_id IS NULL))`,
  // Of several stays on one day the rows do not say which was first.
  'young that did not begin with whoever had the egg': `SELECT 1 FROM hatching h JOIN clutch c ON c.original_id = h.clutch_id
      AND c.superseded_at IS NULL
    WHERE h.superseded_at IS NULL AND NOT EXISTS (SELECT 1 FROM custody k WHERE k.animal_id = h.animal_id
      AND k.superseded_at IS NULL AND k.keeper_id = coalesce(h.keeper_id, c.keeper_id)
      AND k.valid_from = (SELECT min(valid_from) FROM custody f WHERE f.animal_id = h.animal_id AND f.superseded_at IS NULL))`,
  'more eggs than the clutch has': `SELECT 1 FROM egg e JOIN clutch c ON c.original_id = e.clutch_id AND c.superseded_at IS NULL
    WHERE e.number > c.egg_count`,
};
