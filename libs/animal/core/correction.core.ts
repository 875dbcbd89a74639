import { decide, type Decision, refuse } from '../../kernel/index.js';
import { type Fact, type FactBody, SINGLE_KINDS } from './fact.core.js';

/** A fact with what became of it. */
export type FactVersion = Fact & {
  /** The fact that took its place; null with `supersededAt` set: it was taken back. */
  readonly supersededBy: string | null;
  /** Why it was superseded. */
  readonly reason: string | null;
  /** The earlier fact that this one says again. */
  readonly restoresId: string | null;
};

/** Reason stored where nobody gave one: a later statement followed, the earlier one was not called wrong. */
export const RECORDED_ANEW = 'Recorded anew.';

/** What is written when a fact is brought back: a new fact that says the same, in the place of these. */
export type Restoration<F> = { readonly fact: F; readonly supersedes: readonly string[] };

/**
 * Can a fact be corrected or taken back? Not one that is no longer in force, and not a fate: with it goes who has the
 * animal and how many there are, so fates have corrections of their own.
 */
export function decideCorrection<F extends FactVersion>(facts: readonly F[], fact: F): Decision<F> {
  if (fact.kind === 'fate') return refuseFate(fact);
  if (fact.supersededAt === null) return decide(fact);
  const current = facts.find((each) => each.supersededAt === null && lineOf(facts, fact.id).has(each.id));
  return refuse('FACT_NOT_IN_FORCE', 'This fact was corrected or taken back already.', {
    blockers: [
      current === undefined
        ? { kind: 'fact', id: fact.id, remedy: 'Bring it back with `restoreFact` first.' }
        : { kind: 'fact', id: current.id, remedy: 'Correct this one, which took its place.' },
    ],
  });
}

/**
 * Can a fact be brought back, and in the place of which? The answer is a new fact: setting the old one in force again would
 * wipe out that it was ever corrected, and what was believed meanwhile.
 */
export function decideRestoration<F extends FactVersion>(facts: readonly F[], fact: F): Decision<Restoration<F>> {
  if (fact.kind === 'fate') return refuseFate(fact);
  const line = lineOf(facts, fact.id);
  const inForce = facts.filter((each) => each.supersededAt === null);
  const same = inForce.find(
    (each) => line.has(each.id) && (each.id === fact.id || originOf(facts, each.id) === originOf(facts, fact.id)),
  );
  if (same !== undefined) {
    return refuse('FACT_IN_FORCE', 'This fact is in force: there is nothing to bring back.', {
      blockers: [{ kind: 'fact', id: same.id, remedy: 'Read this fact.' }],
    });
  }
  const supersedes = inForce.filter((each) => line.has(each.id) || excludes(each, fact)).map((each) => each.id);
  return decide({ fact, supersedes });
}

/** A fate with what became of it. */
export type FateVersion = Extract<FactVersion, { kind: 'fate' }>;

/**
 * What was said before a fate, which holds again when that fate is taken back: its corrected versions say the same fate, and one
 * that was brought back stands where it first stood. Null = nothing was, the animal lived.
 */
export function fateBefore(facts: readonly FactVersion[], fate: FateVersion): FateVersion | null {
  const fates = facts.filter((each): each is FateVersion => each.kind === 'fate');
  const first = fates.find((each) => each.id === originOf(facts, fate.id)) ?? fate;
  const before = fates.find((each) => each.supersededBy === first.id) ?? null;
  return before?.body.fate === first.body.fate ? fateBefore(facts, before) : before;
}

/** The facts that a new statement takes the place of: of some kinds one is in force at a time, of traits one a gene. */
export function excludes(earlier: FactBody, next: FactBody): boolean {
  if (earlier.kind === 'trait' && next.kind === 'trait') return earlier.body.gene === next.body.gene;
  return earlier.kind === next.kind && SINGLE_KINDS.includes(next.kind);
}

/** A fact and everything that took its place or said it again since. */
function lineOf(facts: readonly FactVersion[], id: string): Set<string> {
  const line = new Set([id]);
  // A later fact never comes before what it follows, so one pass in the order of recording would do; ties make two safer.
  for (let grown = -1; grown !== line.size;) {
    grown = line.size;
    for (const fact of facts) {
      if (line.has(fact.id) && fact.supersededBy !== null) line.add(fact.supersededBy);
      if (fact.restoresId !== null && line.has(fact.restoresId)) line.add(fact.id);
    }
  }
  return line;
}

/** The first fact that said what this one says again. */
function originOf(facts: readonly FactVersion[], id: string): string {
  const restores = facts.find((fact) => fact.id === id)?.restoresId ?? null;
  return restores === null ? id : originOf(facts, restores);
}

function refuseFate(fact: FactVersion): Decision<never> {
  return refuse(
    'FACT_CORRECTED_ELSEWHERE',
    'A fate is not corrected like other facts: who has the animal follows from it.',
    {
      blockers: [
        {
          kind: 'fact',
          id: fact.id,
          remedy: 'Use `correctFate`, or record with `recordFate` that it was found.',
        },
      ],
    },
  );
}
