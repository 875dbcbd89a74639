import type { SharedLines } from './shared-lines.js';

/** Which parent a line goes through. */
export type Through = 'sire' | 'dam' | 'both';

/** One way in which two animals, a and b, are related: their lines part at one ancestor, or at two that are mates. */
export interface KinshipTie {
  /** `same`: one animal; `descent`: one is an ancestor of the other; `collateral`: both descend from others. */
  readonly kind: 'same' | 'descent' | 'collateral';
  /** Generations from a up to the shared ancestors, 0 where a is the ancestor. */
  readonly generationsA: number;
  readonly generationsB: number;
  /** The shared ancestors. Two are mates; where candidates are possible parents there may be more. */
  readonly ancestors: readonly number[];
  /** Both parents of the two animals where the lines part are shared, as of full siblings. False for descent. */
  readonly full: boolean;
  /** Where one parent is shared: which one it is. Null where it is both, or the sire of one and the dam of the other. */
  readonly sharedParent: 'sire' | 'dam' | null;
  /** Through which parent of a, or of b, the line goes; null where it starts at that animal itself. */
  readonly throughA: Through | null;
  readonly throughB: Through | null;
  /** Chance that the tie is there at all: below 1 where it rests on candidates. */
  readonly probability: number;
  /** Chance that both parents are shared where `full` is false for lack of certainty; 0 where they cannot be. */
  readonly fullProbability: number;
  /** What the tie adds to the kinship. */
  readonly contribution: number;
}

/** An ancestor at which lines of the two animals part. */
export interface SharedAncestor {
  readonly animal: number;
  /** Generations along the shortest way from a and b. */
  readonly generationsA: number;
  readonly generationsB: number;
  /** What the paths that turn at this ancestor add to the kinship, and as a share of it. */
  readonly contribution: number;
  readonly share: number;
}

/** Two lines that met: the last step of each, −1 for a line that had none to take. */
export interface Meeting {
  readonly stepA: number;
  readonly stepB: number;
  readonly generationsA: number;
  readonly generationsB: number;
  readonly weight: number;
  readonly plainWeight: number;
  readonly firstA: number;
  readonly firstB: number;
  readonly contribution: number;
}

/** Probabilities this near to 1 are 1. */
const CERTAIN = 1 - 1e-9;

/**
 * Gathers the meetings of lines into ties: those that part at the same two animals, children of the shared ancestors, are
 * one tie, full where both of their parents are shared. Two such animals that are both ancestors of a and of b, as when the
 * parents of full siblings are siblings themselves, part once only.
 */
export function gatherTies(
  lines: SharedLines,
  meetings: readonly Meeting[],
): { ties: KinshipTie[]; sharedAncestors: SharedAncestor[] } {
  const childOf = (step: number): number => (step < 0 ? 0 : (lines.child[step] as number));
  const byChildren = new Map<string, Meeting[]>();
  for (const meeting of meetings) {
    const [x, y] = [childOf(meeting.stepA), childOf(meeting.stepB)];
    const isDescent = x === 0 || y === 0;
    const children = isDescent || x < y ? `${x} ${y}` : `${y} ${x}`;
    const key = `${meeting.generationsA} ${meeting.generationsB} ${children}`;
    const group = byChildren.get(key);
    if (group) group.push(meeting);
    else byChildren.set(key, [meeting]);
  }
  const ties = [...byChildren.values()].map((group) => tieOf(lines, group));
  return { ties: ties.sort(closestFirst), sharedAncestors: ancestorsOf(lines, meetings) };
}

function tieOf(lines: SharedLines, group: readonly Meeting[]): KinshipTie {
  const { generationsA, generationsB } = group[0] as Meeting;
  const isDescent = generationsA === 0 || generationsB === 0;
  const apex = ({ stepA, stepB }: Meeting): number =>
    lines.animal[lines.parent[stepA < 0 ? stepB : stepA] as number] as number;
  const sum = (value: (meeting: Meeting) => number): number => group.reduce((total, m) => total + value(m), 0);
  const bits = (value: (meeting: Meeting) => number): number => group.reduce((all, m) => all | value(m), 0);
  return {
    kind: isDescent ? 'descent' : 'collateral',
    generationsA,
    generationsB,
    ancestors: [...new Set(group.map(apex))].sort((x, y) => x - y),
    ...(isDescent ? descent(lines, group) : sharedParents(lines, group)),
    throughA: through(bits((m) => m.firstA)),
    throughB: through(bits((m) => m.firstB)),
    contribution: sum((m) => m.contribution),
  };
}

const NOT_FULL = { full: false, fullProbability: 0, sharedParent: null } as const;

function descent(lines: SharedLines, group: readonly Meeting[]) {
  // A line may take the same last step as sire or as dam: either will do.
  const chances = group.map((meeting) => stepChance(lines, meeting) * lineChance(lines, meeting));
  return { ...NOT_FULL, probability: Math.min(1, anyOf(chances)) };
}

/** Which parents of the two animals where the lines part are shared, and how surely. */
function sharedParents(lines: SharedLines, group: readonly Meeting[]) {
  const chance = { sires: 0, dams: 0, sireDam: 0, damSire: 0 };
  const seen = new Set<string>();
  for (const meeting of group) {
    // The mirror image of a pair of steps, a's line taking the one of b's, is no further chance.
    const pair = [meeting.stepA, meeting.stepB].sort((x, y) => x - y);
    if (seen.has(pair.join(' '))) continue;
    seen.add(pair.join(' '));
    const [first, second] = pair.map((step) => lines.toDam[step] === 1);
    const which = first ? (second ? 'dams' : 'damSire') : second ? 'sireDam' : 'sires';
    chance[which] += stepChance(lines, meeting);
  }
  const line = Math.max(...group.map((meeting) => lineChance(lines, meeting)));
  const both = Math.max(chance.sires * chance.dams, chance.sireDam * chance.damSire);
  const full = both >= CERTAIN;
  const some = anyOf(Object.values(chance));
  const crossed = chance.sireDam + chance.damSire > 0;
  const certainOne: 'sire' | 'dam' | null = chance.sires >= CERTAIN ? 'sire' : chance.dams >= CERTAIN ? 'dam' : null;
  const onlyOne: 'sire' | 'dam' | null = chance.dams === 0 ? 'sire' : chance.sires === 0 ? 'dam' : null;
  return {
    full,
    fullProbability: full ? 0 : line * both,
    sharedParent: full || crossed ? null : (certainOne ?? onlyOne),
    probability: line * (some >= CERTAIN ? 1 : some),
  };
}

/** Chance that the last steps of both lines lead to true parents. */
function stepChance({ probability }: SharedLines, { stepA, stepB }: Meeting): number {
  return (stepA < 0 ? 1 : (probability[stepA] as number)) * (stepB < 0 ? 1 : (probability[stepB] as number));
}

/** Chance that the lines are true below their last steps. */
function lineChance(lines: SharedLines, meeting: Meeting): number {
  return meeting.weight / (meeting.plainWeight * stepChance(lines, meeting));
}

function anyOf(chances: readonly number[]): number {
  return 1 - chances.reduce((none, chance) => none * (1 - chance), 1);
}

function through(bits: number): Through | null {
  return bits === 0 ? null : bits === 1 ? 'sire' : bits === 2 ? 'dam' : 'both';
}

/** Fewest generations, certain before possible, full before half, largest contribution, then by number. */
function closestFirst(x: KinshipTie, y: KinshipTie): number {
  return (
    x.generationsA + x.generationsB - (y.generationsA + y.generationsB) ||
    Number(y.full) - Number(x.full) ||
    y.contribution - x.contribution ||
    (x.ancestors[0] ?? 0) - (y.ancestors[0] ?? 0)
  );
}

function ancestorsOf({ animal, parent, kinship }: SharedLines, meetings: readonly Meeting[]): SharedAncestor[] {
  const byAnimal = new Map<number, SharedAncestor>();
  for (const { stepA, stepB, generationsA, generationsB, contribution } of meetings) {
    const at = animal[parent[stepA < 0 ? stepB : stepA] as number] as number;
    const before = byAnimal.get(at); // the nearest meeting came first
    const total = (before?.contribution ?? 0) + contribution;
    const nearest = before ?? { animal: at, generationsA, generationsB };
    byAnimal.set(at, { ...nearest, contribution: total, share: total / kinship });
  }
  return [...byAnimal.values()].sort((x, y) => y.contribution - x.contribution || x.animal - y.animal);
}
