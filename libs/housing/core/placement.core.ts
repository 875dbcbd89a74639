import { type Day, decide, type Decision, rangesOverlap, refuse } from '../../kernel/index.js';

/** A stay in force on the half-open days [from, to). */
export type Stay = {
  readonly id: string;
  readonly from: Day;
  readonly to: Day | null;
  /** Name of the enclosure where it is an own one; another keeper's is not told. */
  readonly ownEnclosure: string | null;
};

/** What decides whether an animal can be placed. Read after the lock. */
export type PlacementFacts = {
  readonly animalId: string;
  /** Since when its keeper has it; null = the keeper does not have it. */
  readonly heldFrom: Day | null;
  readonly stays: readonly Stay[];
};

/** Half-open days [from, to) in an enclosure; `to` null = it is there still. */
export type PlacementDays = { readonly from: Day; readonly to: Day | null };

/** The stay that ends when the animal is placed, and on which day; null = none does. */
export type Placed = { readonly ends: { readonly stayId: string; readonly on: Day } | null };

/**
 * Can the animal be in an enclosure on these days? The present stay ends on the day of a move; one with an earlier keeper
 * ended when the animal left them. Every other stay that has a day in common is in the way, and is named.
 */
export function decidePlacement(facts: PlacementFacts, days: PlacementDays, today: Day): Decision<Placed> {
  const { animalId, heldFrom } = facts;
  const blockers = [{ kind: 'animal', id: animalId, remedy: 'Choose a later day, or leave this animal out.' }];
  const possible = decideDays(days, today);
  if (!possible.ok) return possible;
  if (heldFrom === null || days.from < heldFrom)
    return refuse('PLACED_BEFORE_HELD', 'By the records this keeper did not yet have the animal on that day.', {
      blockers,
    });
  const open = facts.stays.find((stay) => stay.to === null);
  const left = open === undefined || open.ownEnclosure !== null ? null : latest(heldFrom, open.from);
  const others = facts.stays.filter((stay) => stay !== open);
  const inTheWay = others.find((stay) => rangesOverlap(stay, days));
  if (inTheWay !== undefined) return overlapping(inTheWay, animalId);
  if (open === undefined) return decide({ ends: null });
  if (left !== null) {
    const cut = { ...open, to: left };
    if (rangesOverlap(cut, days)) return overlapping(cut, animalId);
    return decide({ ends: { stayId: open.id, on: left } });
  }
  if (days.to !== null) return rangesOverlap(open, days) ? overlapping(open, animalId) : decide({ ends: null });
  if (days.from < open.from)
    return refuse('PLACEMENT_DAY_TOO_EARLY', `The animal has been where it is since ${open.from}.`, { blockers });
  return decide({ ends: { stayId: open.id, on: days.from } });
}

/** Can a stay be corrected to these days? `others` are the animal's other stays in force. */
export function decideStay(
  stay: PlacementDays & { readonly animalId: string; readonly heldFrom: Day | null },
  others: readonly Stay[],
  today: Day,
): Decision<null> {
  const possible = decideDays(stay, today);
  if (!possible.ok) return possible;
  if (stay.heldFrom === null || stay.from < stay.heldFrom)
    return refuse('PLACED_BEFORE_HELD', 'By the records this keeper did not yet have the animal on that day.');
  const inTheWay = others.find((other) => rangesOverlap(other, stay));
  return inTheWay === undefined ? decide(null) : overlapping(inTheWay, stay.animalId);
}

function decideDays({ from, to }: PlacementDays, today: Day): Decision<null> {
  if (from > today) return refuse('DAY_IN_FUTURE', `${from} is still to come.`);
  if (to !== null && to > today) return refuse('DAY_IN_FUTURE', `${to} is still to come; leave the end open.`);
  if (to !== null && to < from)
    return refuse('STAY_DAYS_REVERSED', `The stay would end on ${to}, before it begins on ${from}.`);
  return decide(null);
}

function overlapping(stay: Stay, animalId: string): Decision<never> {
  const where = stay.ownEnclosure === null ? 'in an enclosure of an earlier keeper' : `in "${stay.ownEnclosure}"`;
  const until = stay.to === null ? 'and is there still' : `until ${stay.to}`;
  return refuse(
    'PLACEMENT_OVERLAPS',
    `The animal was ${where} from ${stay.from} ${until}. An animal is in one place on a day; the day of a move belongs to the new place.`,
    {
      blockers: [
        { kind: 'stay', id: stay.id, remedy: 'Give days outside that stay, or correct it with `correctStay`.' },
        { kind: 'animal', id: animalId, remedy: 'Leave this animal out.' },
      ],
    },
  );
}

function latest(a: Day, b: Day): Day {
  return a < b ? b : a;
}

/** Worth knowing about a placement; nothing was refused. */
export type HousingWarning = { readonly code: 'QUARANTINE_MIXED'; readonly message: string };

/**
 * A warning where the animals of one enclosure are not all in one and the same quarantine group, or all in none. `groupOf`
 * gives each resident's open group, or null.
 */
export function quarantineWarnings(enclosure: string, groupOf: ReadonlyMap<string, string | null>): HousingWarning[] {
  const groups = new Set(groupOf.values());
  if (groups.size < 2) return [];
  const apart = [...groupOf.values()].filter((group) => group !== null).length;
  return [
    {
      code: 'QUARANTINE_MIXED',
      message: `In "${enclosure}" ${apart} of ${groupOf.size} animals or lots are in quarantine, together with others that are not in their group. Keep them apart, or let the others join the group, which can start its days anew. Ask your veterinarian.`,
    },
  ];
}
