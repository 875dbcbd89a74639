import { type Day, type Viewer } from '../../kernel/index.js';
import { type Db } from '../../platform/prisma/index.js';
import { type BreedingBounds, type BreedingWarning } from '../core/bounds.core.js';
import { type DaySpan, shift } from '../../kernel/index.js';
import {
  type Candidate,
  type CandidateBasis,
  proposeSires,
  type SireCandidate,
  type SireProposal,
  weakest,
  type Weighing,
} from '../core/parent-candidates.core.js';
import { readSireFacts } from '../store/sire-facts.store.js';

/** Most candidates a claim on one parent can name. */
export const MAX_CANDIDATES = 20;

export type ParentQuestion = {
  readonly dams: readonly Candidate[];
  readonly taxonId: string;
  readonly laid: DaySpan;
  readonly bounds: BreedingBounds;
  readonly weighing: Weighing | null;
  /** The first version of the clutch; null where none is recorded. */
  readonly clutchId: string | null;
};

/** Who the parents can be, and why. Empty lists = not known. */
export type ParentProposal = {
  readonly dams: readonly Candidate[];
  readonly damBasis: CandidateBasis;
  readonly sires: readonly SireCandidate[];
  readonly sireBasis: CandidateBasis;
  readonly window: SireProposal['window'];
  readonly warnings: readonly BreedingWarning[];
};

/** Works out who can be the parents of a clutch, from what the viewer may read: see `proposeSires` for the conventions. */
export async function proposeParents(
  db: Db,
  viewer: Viewer,
  question: ParentQuestion,
  today: Day,
): Promise<ParentProposal> {
  const { hidden, damElsewhere, ...facts } = await readSireFacts(db, viewer, { ...question, today });
  const proposal = proposeSires({ ...question, today, ...facts });
  const warnings = [...proposal.warnings];
  if (hidden > 0) {
    warnings.push({
      code: 'SIRE_NOT_SHOWN',
      message: `${hidden} possible sire(s) are not shown to you and cannot be named.`,
    });
  }
  if (damElsewhere) {
    warnings.push({
      code: 'DAM_ELSEWHERE',
      message:
        'The dam was with somebody else on days that count: she can have been mated there. Who she lived with there is not yours to read.',
    });
  }
  const tooMany = proposal.candidates.length > MAX_CANDIDATES;
  if (tooMany) {
    warnings.push({
      code: 'TOO_MANY_SIRES',
      message: `${proposal.candidates.length} possible sires; a claim names ${MAX_CANDIDATES} at most. The sire stays unknown unless you name some.`,
    });
  }
  const sires = tooMany ? [] : proposal.candidates;
  return {
    dams: question.dams,
    damBasis: question.dams.length > 1 ? 'shared_enclosure' : 'observed',
    sires,
    sireBasis: weakest(sires.map((sire) => sire.basis)),
    window: proposal.window,
    warnings,
  };
}

/** When eggs that hatched on these days were laid, by the profile's range of incubation; no earlier limit where it gives none. */
export function layingBefore(hatched: DaySpan, { incubationDays }: BreedingBounds): DaySpan {
  const longest = incubationDays?.max;
  return {
    earliest: longest === undefined ? null : shift(hatched, -Math.ceil(longest)).earliest,
    latest: shift(hatched, -Math.floor(incubationDays?.min ?? 0)).latest,
  };
}
