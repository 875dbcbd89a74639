import { candidatesShown, type ClaimReadStore, claimsShown, type FullClaim } from '../../lineage/index.js';
import { PACK_BOUNDS, type PackAnimal, type RecordPack } from './record-pack.schema.js';
import { isKnown, supersession, type Until } from './pack-moment.js';

type Claim = PackAnimal['parents'][number];
type Relative = RecordPack['relatives'][number];

/** Gives every animal of a pack its ref, in the order in which they are met: what a pack says does not depend on ids. */
export class PackKin {
  private readonly refs = new Map<string, string>();
  private readonly sexes = new Map<string, 'male' | 'female'>();
  private readonly lots = new Set<string>();
  private readonly ancestry = new Map<string, Relative['parents']>();
  private full = false;

  constructor(readonly animalIds: readonly string[]) {
    for (const id of animalIds) this.ref(id);
  }

  /** The ref of an animal. What it is to another tells its sex, also where it is not shared. */
  ref(id: string, place?: 'sire' | 'dam' | 'lot'): string {
    if (place === 'lot') this.lots.add(id);
    else if (place !== undefined) this.sexes.set(id, place === 'sire' ? 'male' : 'female');
    const known = this.refs.get(id) ?? `r${this.refs.size + 1}`;
    this.refs.set(id, known);
    return known;
  }

  /** The relatives met so far, in the order of their refs, each with what its place tells. */
  relatives(): { id: string; ref: string; sex: Relative['sex']; isLot: boolean; parents: Relative['parents'] }[] {
    return [...this.refs].slice(this.animalIds.length).map(([id, ref]) => ({
      id,
      ref,
      sex: this.sexes.get(id) ?? 'unknown',
      isLot: this.lots.has(id),
      parents: this.ancestry.get(id) ?? [],
    }));
  }

  /** Whether every ancestor on record is among them. */
  get complete(): boolean {
    return !this.full;
  }

  /**
   * Walks back from the animals, a generation a statement, along the claims in force at `until`, and gives the claims
   * made on the animals themselves. The parents of eggs are relatives from which it goes on. `readsEvidence` says for which of them the
   * reader is told what a claim rests on, and which stood before.
   */
  async walk(
    store: ClaimReadStore,
    until: Until,
    readsEvidence: ReadonlySet<string>,
    parentsOfEggs: readonly string[],
  ): Promise<Map<string, Claim[]>> {
    const own = new Map<string, Claim[]>();
    let level = [...new Set([...this.animalIds, ...parentsOfEggs])];
    const met = new Set(level);
    for (let generation = 0; level.length > 0; generation += 1) {
      const claims = await store.findAll(level);
      const next: string[] = [];
      for (const childId of level) {
        const all = claims.get(childId) ?? [];
        const shown = claimsShown(childId, all, until);
        if (generation >= PACK_BOUNDS.generations && shown.length > 0) this.full = true;
        if (generation >= PACK_BOUNDS.generations) continue;
        const isOwn = this.animalIds.includes(childId);
        // What was taken back is for those who work with the record: one it is only offered to reads what stands.
        const told =
          isOwn && readsEvidence.has(childId)
            ? all.filter((claim) => shown.includes(claim) || wasMade(claim, childId, until))
            : shown;
        const written = told.flatMap((claim) => this.write(claim, until, met, next) ?? []);
        if (isOwn)
          own.set(
            childId,
            written.map((claim) => hideEvidence(claim, readsEvidence.has(childId))),
          );
        else this.ancestry.set(childId, written.map(plain));
      }
      level = next;
    }
    return own;
  }

  private write(claim: FullClaim, until: Until, met: Set<string>, next: string[]): Claim | null {
    const { role, basis, withoutSire, when, evidence, recordedAt } = claim;
    const candidates = candidatesShown(claim, until);
    const fresh = candidates.filter(({ id }) => !met.has(id));
    if (met.size - this.animalIds.length + fresh.length > PACK_BOUNDS.relatives) {
      this.full = true;
      return null;
    }
    for (const { id } of fresh) {
      met.add(id);
      next.push(id);
    }
    return {
      role,
      basis,
      withoutSire,
      candidates: candidates.map(({ id, probability }) => ({ ref: this.ref(id, role), probability })),
      when,
      evidence,
      recordedAt: recordedAt.toISOString(),
      superseded: supersession(claim, until),
    };
  }
}

/** An earlier version of a claim on the animal itself. */
function wasMade(claim: FullClaim, childId: string, until: Until): boolean {
  return claim.ownerId === childId && isKnown(claim, until) && claim.supersededAt !== null;
}

function hideEvidence(claim: Claim, shown: boolean): Claim {
  return shown ? claim : { ...claim, evidence: null };
}

function plain({ role, basis, withoutSire, candidates }: Claim): Relative['parents'][number] {
  return { role, basis, withoutSire, candidates };
}
