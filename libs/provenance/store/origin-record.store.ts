import { fromDateColumn, fromDateColumnOrNull } from '../../access/index.js';
import { parseFactBody } from '../../animal/index.js';
import { dayOf, type DaySpan } from '../../kernel/index.js';
import { type Db } from '../../platform/prisma/index.js';
import { parseTaxonProfile, type TaxonProfile } from '../../taxon/index.js';
import { generationOf, UNKNOWN_GENERATION } from '../core/generation.core.js';
import { findMating } from '../core/mating.core.js';
import {
  type Entry,
  type Generation,
  type HeldPeriod,
  type OriginRecord,
  type ParentRecord,
  type ParentStatement,
  type Stay,
} from '../core/origin-record.core.js';
import { type OriginFacts, readOriginFacts } from './origin-facts.store.js';
import { type OriginLine, readLine, wasInForce } from './origin-line.store.js';

/** An animal with everything that is weighed for it. */
export type OriginSubject = {
  readonly animalId: string;
  readonly registerNumber: string;
  readonly record: OriginRecord;
  readonly profile: TaxonProfile;
};

/** Records of some animals, and for each fact used the animal whose record it stands in. */
export type OriginSubjects = {
  readonly subjects: readonly OriginSubject[];
  readonly factOwners: ReadonlyMap<string, string>;
};

/**
 * The records of some animals as they stood at a moment (null = now), whoever asks: what of it a viewer is shown is decided
 * where it is shown. Animals that do not exist are missing. Some twenty statements, however many animals.
 */
export async function readOriginRecords(
  db: Db,
  animalIds: readonly string[],
  at: Date | null,
): Promise<OriginSubjects> {
  const line = await readLine(db, animalIds, at);
  const records = animalIds.flatMap((id) => [id, ...(line.merges.into.get(id) ?? [])]);
  const asked = [...new Set([...records, ...[...line.lots.values()].flat()])];
  return new RecordBuilder(line, await readOriginFacts(db, line.ids, asked, at), at).build(animalIds);
}

/** Puts rows together as records; remembers the generations it has worked out, since ancestors are shared. */
class RecordBuilder {
  private readonly generations = new Map<string, Generation>();
  private readonly owners = new Map<string, string>();
  private readonly profiles = new Map<string, TaxonProfile>();

  constructor(
    private readonly line: OriginLine,
    private readonly facts: OriginFacts,
    private readonly at: Date | null,
  ) {}

  build(animalIds: readonly string[]): OriginSubjects {
    const subjects = animalIds.flatMap((animalId) => {
      const animal = this.facts.animals.get(animalId);
      if (animal === undefined) return [];
      const profile = this.profileOf(animal.taxonId);
      return [{ animalId, registerNumber: animal.registerNumber, record: this.recordOf(animalId, profile), profile }];
    });
    return { subjects, factOwners: this.owners };
  }

  private profileOf(taxonId: string): TaxonProfile {
    const known = this.profiles.get(taxonId) ?? parseTaxonProfile(this.facts.profiles.get(taxonId) ?? {});
    this.profiles.set(taxonId, known);
    return known;
  }

  private recordOf(animalId: string, profile: TaxonProfile): OriginRecord {
    const records = this.recordsOf(animalId);
    const all = records.flatMap((id) => [id, ...(this.line.lots.get(id) ?? [])]);
    const hatching = all.map((id) => this.line.hatchings.get(id)).find((row) => row !== undefined);
    const clutch = hatching === undefined ? undefined : this.line.clutches.get(hatching.id);
    const [dam, sire] = [this.statement(records, 'dam'), this.statement(records, 'sire')];
    const sireId = sire?.parentId ?? null;
    const damId = clutch?.damId ? this.keptOf(clutch.damId) : (dam?.parentId ?? null);
    const statements = this.statementsOf(animalId);
    return {
      ...statements,
      hatching:
        hatching === undefined || clutch === undefined
          ? null
          : {
              ...this.entry(hatching.id, hatching.animalId, hatching.recordedAt, clutch.keeperId),
              when: spanOf(hatching),
              controlled: hatching.controlled,
            },
      laying:
        clutch === undefined
          ? null
          : {
              ...this.entry(clutch.id, clutch.damId ?? animalId, clutch.recordedAt, clutch.keeperId),
              when: spanOf(clutch),
              controlled: clutch.controlled,
              damId: clutch.damId === null ? null : this.keptOf(clutch.damId),
              eggCount: clutch.eggCount,
            },
      damStatement: dam,
      sireStatement: sire,
      dam: damId === null ? null : this.parentOf(damId, profile),
      sire: sireId === null ? null : this.parentOf(sireId, profile),
      held: records.flatMap((id) => this.heldOf(id, this.line.lots.get(id) ?? [])),
      marks: records
        .flatMap((id) => this.facts.marks.get(id) ?? [])
        .map((row) => this.entry(row.id, row.animalId, row.recordedAt, null)),
      papers: this.papersOf(animalId),
      parties: all.flatMap((id) => this.facts.parties.get(id) ?? []),
    };
  }

  /** The records that say something of an animal: its own first, then those that were merged into it. */
  private recordsOf(animalId: string): readonly string[] {
    return [animalId, ...(this.line.merges.into.get(animalId) ?? [])];
  }

  /** The animal that a record goes on as. */
  private keptOf(recordId: string): string {
    return this.line.merges.keptOf.get(recordId) ?? recordId;
  }

  private parentOf(animalId: string, profile: TaxonProfile): ParentRecord {
    const { claim, acquisition, birth } = this.statementsOf(animalId);
    const records = this.recordsOf(animalId);
    return {
      animalId,
      claim,
      acquisition,
      birth,
      matings: records
        .flatMap((id) => this.facts.matings.get(id) ?? [])
        .map((row) => ({
          ...this.entry(row.id, row.damId, row.recordedAt, row.keeperId),
          when: spanOf(row),
          controlled: row.controlled,
          basis: row.basis,
        })),
      stays: records.flatMap((id) => this.facts.stays.get(id) ?? []).flatMap((row) => staysOf(row)),
      papers: this.papersOf(animalId),
      generation: this.generationOf(animalId, profile),
    };
  }

  /** Worked out once an animal. An animal that is reached again while it is worked out stands on a cycle, which the writes refuse. */
  private generationOf(animalId: string, profile: TaxonProfile): Generation {
    const known = this.generations.get(animalId);
    if (known !== undefined) return known;
    this.generations.set(animalId, UNKNOWN_GENERATION);
    const record = this.recordOf(animalId, profile);
    const generation = generationOf(record, findMating(record, profile));
    this.generations.set(animalId, generation);
    return generation;
  }

  /**
   * What is said of where it comes from. The own record speaks first, a merged one where that says nothing; that it was taken from
   * the wild counts in whichever record it stands, so that no merge hides it.
   */
  private statementsOf(animalId: string): Statements {
    const each = this.recordsOf(animalId).map((id) => this.statementsIn(id));
    const claim = each.find((said) => said.claim && said.claim.origin !== 'unknown')?.claim ?? each[0]?.claim ?? null;
    const wild = claim?.origin === 'wild' ? null : (each.find((said) => said.claim?.origin === 'wild')?.claim ?? null);
    const acquisitions = each.flatMap((said) => said.acquisition ?? []);
    const taken = acquisitions.find(({ manner }) => manner === 'wild_taken');
    return {
      claim,
      acquisition:
        taken ?? (wild === null ? (acquisitions[0] ?? null) : { ...wild, when: NO_DAY, manner: 'wild_taken' as const }),
      birth: each.find((said) => said.birth !== null)?.birth ?? null,
    };
  }

  private statementsIn(animalId: string): Statements {
    const statements: { -readonly [K in 'claim' | 'acquisition' | 'birth']: OriginRecord[K] } = {
      claim: null,
      acquisition: null,
      birth: null,
    };
    for (const row of this.facts.facts.get(animalId) ?? []) {
      const fact = parseFactBody(row.kind, row.body);
      const entry = this.entry(row.id, animalId, row.recordedAt, row.keeperId);
      if (fact.kind === 'origin')
        statements.claim = { ...entry, origin: fact.body.originClass, onWord: fact.body.statedBy !== undefined };
      if (fact.kind === 'acquisition')
        statements.acquisition = { ...entry, when: spanOf(row), manner: fact.body.manner };
      if (fact.kind === 'birth') statements.birth = { ...entry, when: spanOf(row) };
    }
    return statements;
  }

  private statement(records: readonly string[], role: 'sire' | 'dam'): ParentStatement | null {
    const claims = records.map((id) => (this.line.claims.get(id) ?? []).findLast((row) => row.role === role));
    const claim = claims.find((row) => row !== undefined);
    if (claim === undefined) return null;
    const [only, ...others] = new Set(claim.candidates.map(({ parentId }) => this.keptOf(parentId)));
    return {
      ...this.entry(claim.id, claim.childId, claim.recordedAt, null),
      basis: claim.basis,
      parentId: others.length === 0 ? (only ?? null) : null,
    };
  }

  /** Periods in force, each with the day on which its first version was recorded; those of the lots until the split. */
  private heldOf(animalId: string, lots: readonly string[]): HeldPeriod[] {
    const own = this.periodsOf(animalId);
    const [nearest, ...further] = lots;
    if (nearest === undefined) return own;
    const split = own[0]?.from;
    const before = this.heldOf(nearest, further).filter((period) => split !== undefined && period.from <= split);
    const cut = before.map((period) => ({
      ...period,
      to: split !== undefined && (period.to === null || period.to > split) ? split : period.to,
    }));
    return [...cut, ...own];
  }

  private periodsOf(animalId: string): HeldPeriod[] {
    const rows = this.facts.custody.get(animalId) ?? [];
    return rows
      .filter((row) => wasInForce(row, this.at))
      .map((row) => {
        const versions = rows.filter(
          (other) =>
            other.validFrom.getTime() === row.validFrom.getTime() &&
            other.holderKind === row.holderKind &&
            other.keeperId === row.keeperId,
        );
        const first = Math.min(...versions.map((version) => version.recordedAt.getTime()));
        return {
          from: fromDateColumn(row.validFrom),
          to: fromDateColumnOrNull(row.validTo),
          known: row.holderKind !== 'unknown',
          recordedOn: dayOf(new Date(first)),
        };
      });
  }

  private papersOf(animalId: string): Entry[] {
    return this.recordsOf(animalId).flatMap((id) =>
      (this.facts.papers.get(id) ?? []).map((row) => this.entry(row.documentId, id, row.document.recordedAt, null)),
    );
  }

  private entry(factId: string, ownerId: string, recordedAt: Date, keeperId: string | null): Entry {
    this.owners.set(factId, ownerId);
    return { factId, recordedOn: dayOf(recordedAt), keeperId };
  }
}

type Statements = Pick<OriginRecord, 'claim' | 'acquisition' | 'birth'>;

const NO_DAY: DaySpan = { earliest: null, latest: null };

function spanOf(row: { earliest: Date | null; latest: Date | null }): DaySpan {
  return { earliest: fromDateColumnOrNull(row.earliest), latest: fromDateColumnOrNull(row.latest) };
}

/** A stay; one in an enclosure that became a controlled environment later counts from that day on. */
function staysOf(row: { from: Date; to: Date | null; controlled: Stay['controlled']; since: Date | null }): Stay[] {
  const [from, to] = [fromDateColumn(row.from), fromDateColumnOrNull(row.to)];
  const since = fromDateColumnOrNull(row.since);
  if (since === null || since <= from) return [{ from, to, controlled: row.controlled }];
  if (to !== null && since >= to) return [{ from, to, controlled: 'unknown' }];
  return [
    { from, to: since, controlled: 'unknown' },
    { from: since, to, controlled: row.controlled },
  ];
}
