import type { OriginFinding, Verdict } from './origin-finding.core.js';

const CLAIMED: Readonly<Record<OriginFinding['claim'], string>> = {
  bred: 'bred in captivity',
  wild: 'taken from the wild',
  ranched: 'ranched',
  unknown: 'unknown',
};

const NOW: Readonly<Record<Verdict, string>> = {
  documented: 'the records now document it',
  consistent: 'the records now agree with it',
  stated_only: 'it is now stated only: nothing on record carries it, and no doubt is meant',
  contradicted: 'the records now do not go together with it',
};

/** What a keeper is told when the verdict on an animal of theirs changed; kind, and with the time they have where a conflict is found. */
export function changeInWords(finding: OriginFinding, registerNumber: string, answerDays: number): string {
  const change = `The origin of ${registerNumber} is claimed as ${CLAIMED[finding.claim]}; ${NOW[finding.verdict]}.`;
  if (!finding.askFirst && finding.verdict !== 'contradicted') return change;
  return (
    `${change} A slip in a day or an entry happens easily. Please look at what is named here; you have ${answerDays} days. ` +
    `If the records are right as they stand, the claim can be changed instead.`
  );
}
