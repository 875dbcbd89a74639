import { type BirthManner, getNamed, type StockRecord } from '../../animal/index.js';
import { decide, type Decision, invalidInput, notFound, type Viewer } from '../../kernel/index.js';
import { decideStatement, decideTwoParents, type ParentStatement } from '../../lineage/index.js';
import { findOwnEnclosure } from '../../housing/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { findTaxonAndLine } from '../../taxon/index.js';
import { type BreedingBounds, type BreedingWarning } from '../core/bounds.core.js';
import { type Candidate, equally } from '../core/parent-candidates.core.js';
import { layingMaleWarnings } from '../core/plausibility.core.js';
import { type ClutchFacts, readBounds } from '../store/clutch.store.js';
import { possibleDams } from '../store/sire-facts.store.js';
import { type HatchlingsCommand, type NamedParent } from './hatchlings-command.js';
import { layingBefore, MAX_CANDIDATES, type ParentProposal, proposeParents } from './propose-parents.js';

/** What the young of one act have in common. */
export type Brood = {
  readonly taxonId: string;
  readonly lineId: string | null;
  readonly manner: BirthManner;
  readonly bounds: BreedingBounds;
  /** The dams of the clutch as recorded; empty for found young. */
  readonly clutchDams: readonly StockRecord[];
  readonly proposal: ParentProposal;
};

const ANY = { earliest: null, latest: null };
const NOBODY = '00000000-0000-0000-0000-000000000000';

/** Works out taxon, line and possible parents of the young of a clutch, or of young that were found. */
export async function broodOf(
  tx: Tx,
  viewer: Viewer,
  command: Omit<HatchlingsCommand, 'keeperId'> & { keeperId: string; clutch: ClutchFacts | null },
): Promise<Brood> {
  const { clutch } = command;
  const clutchDams: StockRecord[] = [];
  for (const dam of clutch?.dams ?? []) clutchDams.push(await getNamed(tx, dam.id));
  const taxonId = clutchDams[0]?.taxonId ?? command.taxonId;
  if (taxonId === null)
    throw taxonUnknown('input.taxonId', 'Which taxon they are is not said, and no clutch tells it.');
  if ((await findTaxonAndLine(tx, taxonId, command.lineId)) === null)
    throw taxonUnknown('input.taxonId', 'No such taxon, or no such line of it.');
  const bounds = await readBounds(tx.db, taxonId);
  const laid = clutch === null ? layingBefore(command.when ?? ANY, bounds) : { ...ANY, ...clutch.laid };
  const dams = clutch?.dams ?? (await foundDams(tx, { ...command, taxonId, laid }));
  const question = { dams, taxonId, laid, bounds, weighing: null, clutchId: clutch?.originalId ?? null };
  const proposal = await proposeParents(tx.db, viewer, question, tx.today);
  const lines = new Set(clutchDams.map((dam) => dam.lineId));
  return {
    taxonId,
    lineId: command.lineId ?? (await commonLine(tx, lines, proposal)),
    manner: clutch === null ? foundManner(bounds) : clutch.kind === 'born' ? 'born' : 'hatched',
    bounds,
    clutchDams,
    proposal,
  };
}

function taxonUnknown(path: string, message: string) {
  return invalidInput([{ path, message, remedy: 'Choose from the list `taxa`.' }]);
}

function foundManner({ reproduction }: BreedingBounds): BirthManner {
  if (reproduction === undefined) return 'unknown';
  return reproduction.value === 'live_bearing' ? 'born' : 'hatched';
}

async function foundDams(
  tx: Tx,
  found: Pick<HatchlingsCommand, 'enclosureId' | 'dam'> & {
    keeperId: string;
    taxonId: string;
    laid: { earliest: ClutchDay; latest: ClutchDay };
  },
): Promise<Candidate[]> {
  if (found.dam !== undefined)
    return found.dam.candidates.map(({ parentId, probability }) => ({ id: parentId, probability }));
  if (found.enclosureId === null) return [];
  const enclosure = await findOwnEnclosure(tx, [found.keeperId], found.enclosureId);
  if (enclosure === null) throw notFound('enclosure');
  const { keeperId, taxonId, laid } = found;
  const ids = await possibleDams(tx.db, {
    enclosureId: enclosure.id,
    keeperId,
    taxonId,
    days: laid,
    today: tx.today,
  });
  return ids.length > MAX_CANDIDATES ? [] : equally(ids);
}
type ClutchDay = NonNullable<ClutchFacts['laid']>['earliest'];

/** The line of the young where all possible parents are of one and the same; lines are not crossed unawares. */
async function commonLine(
  tx: Tx,
  damLines: ReadonlySet<string | null>,
  { sires }: ParentProposal,
): Promise<string | null> {
  const lines = new Set(damLines);
  for (const sire of sires) lines.add((await getNamed(tx, sire.id)).lineId);
  const [only = null] = lines;
  return lines.size === 1 && sires.length > 0 ? only : null;
}

/**
 * What is said of the parents: as the caller names them, else as proposed, each held against what lineage allows. A dam that is
 * recorded as male and laid the clutch is no refusal: her sex is what needs correcting.
 */
export async function statementsFor(
  tx: Tx,
  viewer: Viewer,
  brood: Brood,
  command: Pick<HatchlingsCommand, 'dam' | 'sire' | 'when' | 'young'>,
): Promise<Decision<{ statements: ParentStatement[]; warnings: BreedingWarning[] }>> {
  const { proposal } = brood;
  const named = { dam: command.dam, sire: command.sire };
  const proposed: Record<'dam' | 'sire', NamedParent> = {
    dam: { basis: proposal.damBasis, candidates: asParents(proposal.dams) },
    sire: { basis: proposal.sireBasis, candidates: asParents(proposal.sires) },
  };
  const child = {
    id: NOBODY,
    kind: command.young.every((each) => each.count > 1) ? ('lot' as const) : ('individual' as const),
    taxonId: brood.taxonId,
    sex: 'unknown' as const,
    birth: command.when ?? ANY,
  };
  const warnings: BreedingWarning[] = [];
  const statements: ParentStatement[] = [];
  for (const role of ['dam', 'sire'] as const) {
    // Whom the registry proposes by what an earlier keeper shared need not be shown to whoever has the eggs now.
    const shown = named[role] === undefined ? 'proposed' : 'must_be_shown';
    const { basis, candidates } = named[role] ?? proposed[role];
    if (candidates.length === 0) continue;
    const statement = { role, basis, candidates, withoutSire: false };
    const possible = await decideStatement(
      tx,
      viewer,
      child,
      statement,
      (i) => `input.${role}.candidates.${i}.parentId`,
      shown,
    );
    const laid = role === 'dam' && candidates.every((each) => brood.clutchDams.some(({ id }) => id === each.parentId));
    if (!possible.ok && !(laid && possible.refusal.rule === 'LINEAGE_SEX_CONFLICT')) return possible;
    if (possible.ok) warnings.push(...possible.value.map(({ code, message, source }) => told(code, message, source)));
    statements.push(statement);
  }
  for (const dam of brood.clutchDams) warnings.push(...layingMaleWarnings(dam));
  const candidatesOf = (role: 'dam' | 'sire') => statements.find((each) => each.role === role)?.candidates ?? [];
  const two = decideTwoParents(candidatesOf('sire'), candidatesOf('dam'));
  if (!two.ok) return two;
  if (named.sire === undefined) warnings.push(...proposal.warnings);
  return decide({ statements, warnings });
}

function asParents(candidates: readonly Candidate[]) {
  return candidates.map(({ id, probability }) => ({ parentId: id, probability }));
}

function told(code: Uppercase<string>, message: string, source: string | null): BreedingWarning {
  return { code, message: source === null ? message : `${message} (${source})` };
}
