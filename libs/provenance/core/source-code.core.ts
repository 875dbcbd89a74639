import type { Generation } from './origin-record.core.js';

/** Source codes of permits that records can suggest. U is the authority's to give; X and A do not concern these animals. */
export type SourceCode = 'W' | 'R' | 'D' | 'C' | 'F' | 'I' | 'O';

/** Appendix of the convention in which a taxon is listed. */
export type Appendix = 'I' | 'II' | 'III' | 'none';

/** What decides the code. */
export type SourceFacts = {
  /** How the animal began, as far as it is shown. */
  readonly begun: 'mated_in_controlled_environment' | 'mated_outside' | 'taken_from_the_wild' | 'not_shown';
  /** Eggs or young from the wild reared in a controlled environment under a programme the authority accepts. */
  readonly ranched: 'yes' | 'no' | 'unknown';
  readonly seized: boolean;
  /** Acquired before the convention applied to the taxon. */
  readonly preConvention: boolean;
  readonly generation: Generation;
  /** Breeding stock established lawfully. Not listed on the day of acquisition counts as yes. */
  readonly lawfulStock: 'yes' | 'no' | 'unknown';
  /** The stock is managed in a way shown to produce a second generation reliably. */
  readonly secondGenerationReliable: boolean;
  readonly appendix: Appendix | null;
  readonly purpose: 'commercial' | 'noncommercial' | null;
  /** The operation is registered with the convention's secretariat for this species. */
  readonly registeredOperation: boolean;
};

/** One of `codes`, together with (or, for I, instead of it) those of `alongside`. Empty = none is suggested. */
export type SourceSuggestion = {
  readonly codes: readonly SourceCode[];
  readonly alongside: readonly ('I' | 'O')[];
  readonly words: string;
  readonly source: string;
};

const NOTIFICATION = 'CITES Notification 1998/14';
const CODES = '50 CFR 23.24';
const BRED = '50 CFR 23.63, implementing CITES Res. Conf. 10.16 (Rev.)';
const DECIDES = 'The licensing authority decides.';

type Suggestion = Omit<SourceSuggestion, 'alongside'>;

/** The permit source code the records would suggest. Never legal advice: the authority decides, and U is only the authority's. */
export function suggestSourceCode(facts: SourceFacts): SourceSuggestion {
  if (facts.appendix === 'none') return NOT_LISTED;
  const suggested = ofBeginning(facts);
  const alongside = [...(facts.seized ? (['I'] as const) : []), ...(facts.preConvention ? (['O'] as const) : [])];
  if (facts.seized && suggested.codes.length === 0)
    return { codes: ['I'], alongside: [], words: `Confiscated or seized. ${DECIDES}`, source: CODES };
  const added =
    (facts.seized ? ' Confiscated or seized: I, with this code or instead of it.' : '') +
    (facts.preConvention ? ' From before the convention: O, together with this code.' : '');
  // O goes with another code and is never given alone.
  return { ...suggested, words: suggested.words + added, alongside: suggested.codes.length === 0 ? [] : alongside };
}

const NOT_LISTED: SourceSuggestion = {
  codes: [],
  alongside: [],
  words: 'The taxon is not listed, so permits of the convention have no code for it.',
  source: 'appendix in the profile of the taxon',
};

function ofBeginning(facts: SourceFacts): Suggestion {
  switch (facts.begun) {
    case 'not_shown':
      return {
        codes: [],
        words: 'The records do not show where it comes from, so no code is suggested: ask the licensing authority.',
        source: 'U is the authority’s to give (from memory)',
      };
    case 'taken_from_the_wild':
      return wildOrRanched(facts, 'Taken from the wild.');
    case 'mated_outside':
      return wildOrRanched(facts, 'The mating was not in a controlled environment.');
    case 'mated_in_controlled_environment':
      return bred(facts);
  }
}

function wildOrRanched({ ranched }: SourceFacts, why: string): Suggestion {
  const codes = { yes: ['R'], no: ['W'], unknown: ['W', 'R'] } as const;
  const words = ranched === 'unknown' ? `${why} W, or R where it counts as ranched. ${DECIDES}` : `${why} ${DECIDES}`;
  return { codes: codes[ranched], words, source: NOTIFICATION };
}

function bred(facts: SourceFacts): Suggestion {
  const meets = facts.lawfulStock === 'yes' && (facts.generation.lowest >= 2 || facts.secondGenerationReliable);
  if (!meets) {
    return {
      codes: ['F'],
      words: `Born from a mating in a controlled environment, but ${unmet(facts)}. ${DECIDES}`,
      source: `${NOTIFICATION}; ${BRED}`,
    };
  }
  if (facts.appendix === null)
    return { codes: [], words: `The profile of the taxon names no appendix. ${DECIDES}`, source: CODES };
  if (facts.appendix !== 'I')
    return { codes: ['C'], words: `Bred in captivity. ${DECIDES}`, source: `${CODES}; ${BRED}` };
  const commercial: Suggestion = facts.registeredOperation
    ? { codes: ['D'], words: `Appendix I, bred commercially in a registered operation. ${DECIDES}`, source: CODES }
    : {
        codes: ['F'],
        words: `Appendix I, bred commercially in an operation that is not registered for the species. ${DECIDES}`,
        source: CODES,
      };
  const noncommercial: Suggestion = {
    codes: ['C'],
    words: `Appendix I, bred for noncommercial purposes. ${DECIDES}`,
    source: CODES,
  };
  if (facts.purpose === null) {
    return {
      codes: [...noncommercial.codes, ...commercial.codes],
      words: `Appendix I: the code depends on whether it was bred for commercial purposes. ${DECIDES}`,
      source: CODES,
    };
  }
  return facts.purpose === 'commercial' ? commercial : noncommercial;
}

function unmet({ lawfulStock, generation }: SourceFacts): string {
  const stock = {
    yes: null,
    no: 'the breeding stock was not lawful',
    unknown: 'nothing shows that the breeding stock was lawful',
  };
  const second = generation.lowest >= 2 ? null : 'a second generation is not shown';
  return [second, stock[lawfulStock]].filter((part) => part !== null).join(' and ');
}
