import { findAccess, fromDateColumnOrNull, toDateColumn } from '../../access/index.js';
import { type Day, type DaySpan, type Viewer } from '../../kernel/index.js';
import { readStays, type SharedStay, sharedStays } from '../../housing/index.js';
import { type Db } from '../../platform/prisma/index.js';
import { type BreedingBounds } from '../core/bounds.core.js';
import { type Candidate, type Companion, type DamMating, sireWindow } from '../core/parent-candidates.core.js';
import { evidenceShared } from './breeding-share.store.js';
import { spanOf } from './when-columns.js';

type Sex = 'male' | 'female' | 'unknown';

export type SireFacts = {
  readonly companions: readonly Companion[];
  readonly matings: readonly DamMating[];
  /** Possible sires whom the viewer may not see: they are counted and not named. */
  readonly hidden: number;
  /** A dam was with somebody else on a day that counts. */
  readonly damElsewhere: boolean;
};

/**
 * Who was with the possible dams on days that count, and their recorded matings, as far as the viewer may read them: stays in
 * own enclosures, matings of a dam that was given away until then, sires that are shown to the viewer. What an earlier keeper
 * shared with a transfer counts as well: those sires may be nobody the viewer is shown, and stand then without identity.
 */
export async function readSireFacts(
  db: Db,
  viewer: Viewer,
  question: {
    dams: readonly Candidate[];
    taxonId: string;
    laid: DaySpan;
    today: Day;
    bounds: BreedingBounds;
    /** The first version of the clutch; null where there is none. */
    clutchId: string | null;
  },
): Promise<SireFacts> {
  const damIds = question.dams.map((dam) => dam.id);
  const keeperIds = viewer.keepers.map((keeper) => keeper.keeperId);
  const { from, until } = sireWindow(question);
  const own = await sharedStays(db, { keeperIds, animalIds: damIds, from, until, knownAt: null });
  const shares = await evidenceShared(db, viewer, damIds, question.clutchId);
  const shared: SharedStay[] = [];
  for (const { damId, keeperId, until: knownAt } of shares) {
    if (keeperIds.includes(keeperId)) continue;
    shared.push(...(await sharedStays(db, { keeperIds: [keeperId], animalIds: [damId], from, until, knownAt })));
  }
  const together = [...own, ...shared];
  const isShared = (row: { damId: string; keeperId: string; recordedAt: Date }) =>
    shares.some(
      (share) => share.damId === row.damId && share.keeperId === row.keeperId && row.recordedAt <= share.until,
    );
  const access = await findAccess(db, viewer, damIds);
  const rows = await db.mating.findMany({ where: { damId: { in: damIds }, supersededAt: null } });
  const readable = rows.filter((row) => {
    if (isShared(row)) return true;
    const level = access.get(row.damId);
    if (level === undefined || level.level === 'club') return keeperIds.includes(row.keeperId);
    return level.readsUntil === null || row.recordedAt <= level.readsUntil;
  });
  const animals = await db.animal.findMany({
    where: {
      id: {
        in: [...new Set([...together.map((stay) => stay.companionId), ...readable.flatMap((row) => row.sireId ?? [])])],
      },
      kind: 'individual',
      taxonId: question.taxonId,
      NOT: { id: { in: damIds } },
    },
    select: { id: true, sex: true, birthEarliest: true, birthLatest: true },
  });
  const seen = await findAccess(
    db,
    viewer,
    animals.map((animal) => animal.id),
  );
  const left = new Map([...seen].flatMap(([id, { readsUntil }]) => (readsUntil === null ? [] : [[id, readsUntil]])));
  const then = await readThen(db, left);
  const told = new Set([
    ...shared.map((stay) => stay.companionId),
    ...readable.flatMap((row) => (row.sireId !== null && isShared(row) ? [row.sireId] : [])),
  ]);
  const shown = animals
    .filter((animal) => seen.has(animal.id) || told.has(animal.id))
    .map((animal) => ({ ...animal, ...then.get(animal.id) }));
  const shownIds = new Set(shown.map((animal) => animal.id));
  const companions = shown.flatMap((animal): Companion[] => {
    if (animal.sex === 'female') return [];
    const shared = together
      .filter((stay) => stay.companionId === animal.id)
      .map((stay) => ({ damId: stay.animalId, from: stay.from, to: stay.to }));
    const birth = {
      earliest: fromDateColumnOrNull(animal.birthEarliest),
      latest: fromDateColumnOrNull(animal.birthLatest),
    };
    return shared.length === 0 ? [] : [{ id: animal.id, sex: animal.sex, birth, shared }];
  });
  const matings = readable
    .filter((row) => row.sireId === null || shownIds.has(row.sireId))
    .map((row) => ({ damId: row.damId, sireId: row.sireId, basis: row.basis, when: spanOf(row) }));
  const hidden = animals.filter(
    (animal) => !seen.has(animal.id) && !told.has(animal.id) && animal.sex !== 'female',
  ).length;
  const known = [...keeperIds, ...shares.map(({ keeperId }) => keeperId)];
  return { companions, matings, hidden, damElsewhere: await wasElsewhere(db, damIds, known, from, until) };
}

/** Sex and birth of animals as they were recorded when the viewer gave each away; what was found since is not theirs to read. */
async function readThen(
  db: Db,
  left: ReadonlyMap<string, Date>,
): Promise<Map<string, { sex: Sex; birthEarliest: Date | null; birthLatest: Date | null }>> {
  if (left.size === 0) return new Map();
  const facts = await db.animalFact.findMany({
    where: { animalId: { in: [...left.keys()] }, kind: { in: ['sex', 'birth'] } },
    orderBy: [{ recordedAt: 'asc' }, { id: 'asc' }],
  });
  return new Map(
    [...left].map(([id, until]) => {
      const known = facts.filter((fact) => fact.animalId === id && fact.recordedAt <= until);
      const last = (kind: string) =>
        known.findLast((fact) => fact.kind === kind && (fact.supersededAt === null || fact.supersededAt > until));
      const birth = last('birth');
      const sex = (last('sex')?.body as { sex: Sex } | undefined)?.sex ?? 'unknown';
      return [id, { sex, birthEarliest: birth?.earliest ?? null, birthLatest: birth?.latest ?? null }];
    }),
  );
}

async function wasElsewhere(
  db: Db,
  damIds: readonly string[],
  keeperIds: readonly string[],
  from: Day | null,
  until: Day,
): Promise<boolean> {
  const elsewhere = await db.custody.count({
    where: {
      animalId: { in: [...damIds] },
      supersededAt: null,
      NOT: { keeperId: { in: [...keeperIds] } },
      validFrom: { lte: toDateColumn(until) },
      ...(from === null ? {} : { OR: [{ validTo: null }, { validTo: { gt: toDateColumn(from) } }] }),
    },
  });
  return elsewhere > 0;
}

/**
 * Animals that can have laid in an own enclosure on one of the days: individuals of the taxon that lived there and are
 * recorded as female, or where there is none, of unknown sex. Ids in order.
 */
export async function possibleDams(
  db: Db,
  place: { enclosureId: string; keeperId: string; taxonId: string | null; days: DaySpan; today: Day },
): Promise<string[]> {
  const stays = await readStays(db, {
    keeperIds: [place.keeperId],
    enclosureIds: [place.enclosureId],
    from: place.days.earliest,
    until: place.days.latest ?? place.today,
    knownAt: null,
  });
  const animals = await db.animal.findMany({
    where: {
      id: { in: [...new Set(stays.map((stay) => stay.animalId))] },
      kind: 'individual',
      sex: { not: 'male' },
      ...(place.taxonId === null ? {} : { taxonId: place.taxonId }),
    },
    select: { id: true, sex: true },
    orderBy: { id: 'asc' },
  });
  const females = animals.filter((animal) => animal.sex === 'female');
  return (females.length > 0 ? females : animals).map((animal) => animal.id);
}
