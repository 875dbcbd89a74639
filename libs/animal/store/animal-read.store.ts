import { Injectable } from '@nestjs/common';
import { accessScope, fieldsShown, fromDateColumnOrNull, levelOfRank } from '../../access/index.js';
import { type Day, type RegisterNumber, type Viewer } from '../../kernel/index.js';
import { Database, Prisma } from '../../platform/prisma/index.js';
import { groupRows } from '../../taxon/index.js';
import { type AnimalView, birthYearOf } from '../core/animal-view.core.js';
import { type Fact, type FactKind, type Fate, type OriginClass, project, type Sex } from '../core/fact.core.js';
import { type Mark } from '../core/mark.core.js';
import { toFact } from './animal-write.store.js';
import { toMark } from './mark-row.store.js';

type Row = {
  id: string;
  rank: number;
  reads_until: Date | null;
  register_number: string;
  kind: 'individual' | 'lot';
  taxon_id: string;
  line_id: string | null;
  name: string | null;
  sex: Sex;
  birth_edtf: string | null;
  birth_earliest: Date | null;
  birth_latest: Date | null;
  origin_class: OriginClass;
  is_hybrid: boolean;
  fate: Fate;
  fate_edtf: string | null;
  last_seen_on: Date | null;
  count: number;
  count_estimated: boolean;
  declared_founder: boolean;
  merged_into_id: string | null;
};

const COLUMNS = Prisma.sql`a.id, a.register_number, a.kind::text AS kind, a.taxon_id, a.line_id, a.name, a.sex::text AS sex,
  a.birth_edtf, a.birth_earliest, a.birth_latest, a.origin_class::text AS origin_class, a.is_hybrid, a.fate::text AS fate, a.fate_edtf,
  a.last_seen_on, a.count, a.count_estimated, a.declared_founder, a.merged_into_id`;

/** Days between which an animal was born; null = open. */
export type BornWithin = {
  readonly from: Day | null;
  readonly to: Day | null;
  /** Whether every day its birth can be has to lie between them, or some day; of a birth nothing is known of, any day. */
  readonly match: 'certain' | 'possible';
};

/** In the place of the earliest day of a birth where there is none: such births come last. */
export const UNKNOWN_LAST = 'infinity';

/** Where an animal stands in its collection: `born` is the earliest day of its birth or `UNKNOWN_LAST`. */
export type CollectionPlace = { readonly born: string; readonly id: string };

/** Which page of a collection. */
export type CollectionPage = {
  readonly within: BornWithin;
  readonly byBirth: boolean;
  readonly first: number;
  readonly after: CollectionPlace | null;
};

/** Reads animals through the access scope: every answer is what this viewer may see, and nothing else. */
@Injectable()
export class AnimalReadStore {
  constructor(private readonly database: Database) {}

  /** The animals of `ids` that are visible to the viewer, each at its level. One statement, and two more when a past holder asks. */
  async findVisible(viewer: Viewer, ids: readonly string[]): Promise<Map<string, AnimalView>> {
    if (ids.length === 0) return new Map();
    const rows = await this.database.client.$queryRaw<Row[]>`
      SELECT ${COLUMNS}, s.rank, s.reads_until FROM ${accessScope(viewer, ids)} s JOIN animal a ON a.id = s.animal_id`;
    const earlier = await this.readEarlier(rows.filter((row) => levelOfRank(row.rank) === 'past'));
    return new Map(rows.map((row) => [row.id, toView(earlier.get(row.id) ?? row)]));
  }

  /** The id behind a register number, seen by nobody: ask `findVisible` with it. */
  async findId(registerNumber: RegisterNumber): Promise<string | null> {
    const row = await this.database.client.animal.findUnique({ where: { registerNumber }, select: { id: true } });
    return row?.id ?? null;
  }

  /**
   * A page of what a keeper has now, with one more than asked where there is one; by the day of birth in the order of the
   * earliest it can be, otherwise in the order of registration. The caller acts for the keeper.
   */
  async pageOfKeeper(keeperId: string, { within, byBirth, first, after }: CollectionPage): Promise<AnimalView[]> {
    const born = Prisma.sql`coalesce(a.birth_earliest, 'infinity'::date)`;
    const beyond =
      after === null
        ? Prisma.empty
        : byBirth
          ? Prisma.sql`AND (${born}, a.id) > (${after.born}::date, ${after.id}::uuid)`
          : Prisma.sql`AND a.id > ${after.id}::uuid`;
    const rows = await this.database.client.$queryRaw<Row[]>`
      SELECT ${COLUMNS}, 1 AS rank, NULL::timestamptz AS reads_until
      FROM animal_access x JOIN animal a ON a.id = x.animal_id
      WHERE x.keeper_id = ${keeperId}::uuid AND x.relation = 'holder' AND x.valid_to IS NULL AND a.count > 0 AND a.merged_into_id IS NULL
        ${bornWithin(within)} ${beyond}
      ORDER BY ${byBirth ? Prisma.sql`${born}, a.id` : Prisma.sql`a.id`} LIMIT ${first + 1}`;
    return rows.map(toView);
  }

  /** All facts of each animal, or those of some kinds, superseded ones too, in the order they were recorded. For loaders that cut them to what is shown. */
  async findFacts(ids: readonly string[], kinds?: readonly FactKind[]): Promise<Map<string, Fact[]>> {
    const rows = await this.database.client.animalFact.findMany({
      where: { animalId: { in: [...ids] }, ...(kinds === undefined ? {} : { kind: { in: [...kinds] } }) },
      orderBy: [{ recordedAt: 'asc' }, { id: 'asc' }],
    });
    const facts = groupRows(rows, (row) => row.animalId);
    return new Map([...facts].map(([id, group]) => [id, group.map((row) => toFact(row))]));
  }

  /** All marks of each animal with every version, in the order they were recorded. For callers that cut them with `marksInForce`. */
  async findMarks(ids: readonly string[]): Promise<Map<string, Mark[]>> {
    const rows = await this.database.client.animalMark.findMany({
      where: { animalId: { in: [...ids] } },
      orderBy: [{ recordedAt: 'asc' }, { id: 'asc' }],
    });
    return groupRows(rows.map(toMark), (mark) => mark.animalId);
  }

  /** The rows of past holders as they were when the animal left: from the facts recorded by then, not from today's columns. */
  private async readEarlier(rows: readonly Row[]): Promise<Map<string, Row>> {
    if (rows.length === 0) return new Map();
    const facts = await this.findFacts(rows.map((row) => row.id));
    const lots = rows.filter((row) => row.kind === 'lot');
    const changes =
      lots.length === 0
        ? []
        : await this.database.client.lotChange.findMany({
            where: { lotId: { in: lots.map((row) => row.id) } },
            select: { lotId: true, delta: true, recordedAt: true },
          });
    return new Map(
      rows.map((row) => {
        const until = row.reads_until ?? new Date(0);
        const then = project(facts.get(row.id) ?? [], until);
        const counted = changes.reduce(
          (sum, change) => (change.lotId === row.id && change.recordedAt <= until ? sum + change.delta : sum),
          0,
        );
        return [
          row.id,
          {
            ...row,
            name: then.name,
            sex: then.sex,
            birth_edtf: then.birth?.edtf ?? null,
            birth_earliest: toDate(then.birth?.earliest),
            birth_latest: toDate(then.birth?.latest),
            origin_class: then.originClass,
            is_hybrid: then.isHybrid,
            fate: then.fate,
            fate_edtf: then.fateWhen?.edtf ?? null,
            last_seen_on: toDate(then.lastSeenOn),
            count: row.kind === 'lot' ? counted : then.fate === 'dead' ? 0 : 1,
          },
        ];
      }),
    );
  }
}

/** A null day makes a comparison null, which is not certain. */
function bornWithin({ from, to, match }: BornWithin): Prisma.Sql {
  const [first, last] =
    match === 'certain'
      ? [Prisma.sql`a.birth_earliest`, Prisma.sql`a.birth_latest`]
      : [Prisma.sql`coalesce(a.birth_latest, 'infinity')`, Prisma.sql`coalesce(a.birth_earliest, '-infinity')`];
  return Prisma.sql`${from === null ? Prisma.empty : Prisma.sql`AND ${first} >= ${from}::date`}
    ${to === null ? Prisma.empty : Prisma.sql`AND ${last} <= ${to}::date`}`;
}

function toDate(day: string | null | undefined): Date | null {
  return day === null || day === undefined ? null : new Date(`${day}T00:00:00Z`);
}

function toView(row: Row): AnimalView {
  const level = levelOfRank(row.rank);
  if (level === 'none') throw new RangeError('An animal outside the scope was read.');
  const birth =
    row.birth_edtf === null
      ? null
      : {
          edtf: row.birth_edtf,
          earliest: fromDateColumnOrNull(row.birth_earliest),
          latest: fromDateColumnOrNull(row.birth_latest),
        };
  return {
    id: row.id,
    level,
    readsUntil: level === 'past' ? row.reads_until : null,
    registerNumber: row.register_number,
    kind: row.kind,
    taxonId: row.taxon_id,
    lineId: row.line_id,
    sex: row.sex,
    birthYear: birthYearOf(birth),
    originClass: row.origin_class,
    isHybrid: row.is_hybrid,
    // What was declared or merged since a past holder gave it away is not theirs to read.
    declaredFounder: level === 'past' ? null : row.declared_founder,
    mergedIntoId: level === 'past' ? null : row.merged_into_id,
    record: !fieldsShown(level).record
      ? null
      : {
          name: row.name,
          birth,
          fate: row.fate,
          fateEdtf: row.fate_edtf,
          count: row.count,
          countEstimated: row.count_estimated,
          lastSeenOn: fromDateColumnOrNull(row.last_seen_on),
        },
  };
}
