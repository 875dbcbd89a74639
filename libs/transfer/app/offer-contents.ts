import { z } from 'zod';
import { type EggNamed, type EggsAsked, familyIn, takeEggs } from '../../breeding/index.js';
import { type Day, decide, type Decision, refuse, type Viewer } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { MAX_ITEMS } from '../core/offer.core.js';
import { MAX_EGGS } from '../eggs/transfer-eggs.core.js';
import { promisedEggs } from '../eggs/transfer-eggs.store.js';

const clutchId = z.uuid('This is not the id of a clutch. | Use the id that the clutch has.').toLowerCase();
const numbers = z
  .array(z.int().positive('Eggs are numbered from 1. | Write the number of the egg.'))
  .min(1, 'No egg is named. | Name at least one, or leave it out.')
  .max(MAX_EGGS, `A transfer holds at most ${MAX_EGGS} eggs. | Make two transfers of it.`);

/** Eggs of one clutch by their numbers. */
export const eggsNamed = z.object({ clutchId, numbers });

/** Eggs of one clutch: by number, or so many of those that are left, or all that are left. */
export const eggsOffered = z
  .object({
    clutchId,
    numbers: numbers.nullish(),
    count: z.int().positive('A count is at least 1. | Leave it out for all that are left.').nullish(),
  })
  .refine((eggs) => !(eggs.numbers && eggs.count), {
    path: ['count'],
    message: 'The eggs are named and counted. | Give their numbers, or how many, not both.',
  });

type ItemCommand = { readonly animalId: string };

/** What is offered besides the animals that are named one by one. */
type Contents<I> = {
  readonly fromKeeperId: string;
  readonly items: readonly I[];
  readonly eggs?: readonly z.infer<typeof eggsOffered>[] | null | undefined;
  readonly familyOfEnclosureId?: string | null | undefined;
  readonly familyOn?: Day | null | undefined;
};

/**
 * Adds the family of an enclosure to what is offered: everybody who is in it on the day, and its eggs, each once. An animal or a
 * clutch that is named as well goes as it is named. NOT_FOUND, EGGS_UNCOUNTED, TRANSFER_EMPTY, TRANSFER_TOO_LARGE.
 */
export async function withFamily<I extends ItemCommand>(
  tx: Tx,
  command: Contents<I>,
): Promise<Decision<{ items: (I | ItemCommand)[]; eggs: EggsAsked[] }>> {
  const items: (I | ItemCommand)[] = [...command.items];
  const eggs: EggsAsked[] = (command.eggs ?? []).map((each) => ({
    clutchId: each.clutchId,
    numbers: each.numbers ?? null,
    count: each.count ?? null,
  }));
  if (command.familyOfEnclosureId) {
    const on = command.familyOn ?? tx.today;
    const family = await familyIn(tx, command.fromKeeperId, command.familyOfEnclosureId, on);
    for (const animalId of family.animalIds)
      if (!items.some((item) => item.animalId === animalId)) items.push({ animalId });
    for (const [id, left] of family.eggs) {
      if (eggs.some((each) => each.clutchId === id) || left?.length === 0) continue;
      if (left === undefined) {
        const remedy = 'Name its eggs, or correct their number.';
        return refuse('EGGS_UNCOUNTED', `Some eggs of a clutch are elsewhere. ${remedy}`, {
          blockers: [{ kind: 'clutch', id, remedy }],
        });
      }
      eggs.push({ clutchId: id, numbers: left, count: null });
    }
  }
  if (items.length + eggs.length === 0) {
    return refuse('TRANSFER_EMPTY', 'A transfer needs at least one animal, lot or egg. Name it.');
  }
  if (items.length > MAX_ITEMS) {
    const message = `The family has ${items.length} animals and lots; a transfer holds at most ${MAX_ITEMS}.`;
    return refuse('TRANSFER_TOO_LARGE', `${message} Offer it in parts.`);
  }
  return decide({ items, eggs });
}

/** Names the eggs that are offered, with their clutches locked: after the animals in the order of locks. */
export async function nameEggs(
  tx: Tx,
  viewer: Viewer,
  keeperId: string,
  asked: readonly EggsAsked[],
): Promise<Decision<EggNamed[]>> {
  if (asked.length === 0) return decide([]);
  if (new Set(asked.map((each) => each.clutchId)).size < asked.length)
    return refuse('TRANSFER_ITEM_TWICE', 'A clutch is named twice. Name it once, with all its eggs.');
  const promised = await promisedEggs(
    tx,
    asked.map((each) => each.clutchId),
  );
  const taken = await takeEggs(tx, viewer, keeperId, asked, new Set(promised.keys()));
  if (!taken.ok) return taken;
  const open = taken.value.filter(({ eggId }) => promised.has(eggId));
  if (open.length > 0) {
    const remedy = 'Finish or withdraw that transfer first.';
    return refuse(
      'TRANSFER_EGG_OPEN',
      `Egg ${open.map(({ number }) => number).join(', ')} is in another open transfer. ${remedy}`,
      {
        blockers: open.map(({ eggId }) => ({ kind: 'transfer', id: promised.get(eggId) ?? '', remedy })),
      },
    );
  }
  if (taken.value.length > MAX_EGGS) {
    const message = `${taken.value.length} eggs are offered; a transfer holds at most ${MAX_EGGS}.`;
    return refuse('TRANSFER_TOO_LARGE', `${message} Make two transfers of it.`);
  }
  return taken;
}
