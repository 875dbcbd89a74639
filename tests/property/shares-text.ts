/** Owners in a form that is equal where their parts of the whole are. */
export function sharesText(shares: Iterable<readonly [string, number]>, disputed: boolean): string {
  const all = [...shares];
  const whole = all.reduce((sum, [, parts]) => sum + parts, 0);
  const divisor = all.reduce((found, [, parts]) => greatestCommonDivisor(found, parts), whole);
  const texts = all.map(([owner, parts]) => `${owner} ${parts / divisor}/${whole / divisor}`);
  return `${disputed ? 'disputed ' : ''}${texts.toSorted().join()}`;
}

function greatestCommonDivisor(a: number, b: number): number {
  return b === 0 ? a : greatestCommonDivisor(b, a % b);
}
