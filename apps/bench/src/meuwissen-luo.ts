import { type Pedigree } from '../../../libs/genetics/index.js';

/**
 * F of every animal by the plain loop of Meuwissen & Luo 1992 (Genet. Sel. Evol. 24:305), written down from memory: for
 * each animal its ancestors are visited from the youngest to the oldest along a sorted linked list. Full siblings that
 * follow one another share the result, as in the paper. The yardstick, and nothing else.
 *
 * @param pedigree parents stand before their children in the numbering itself
 */
export function meuwissenLuo({ sire, dam }: Pedigree): Float64Array {
  const n = sire.length;
  const f = new Float64Array(n + 1);
  f[0] = -1;
  const share = new Float64Array(n + 1);
  const sampling = new Float64Array(n + 1);
  const older = new Int32Array(n + 1);
  const sireOf = (i: number): number => (sire[i - 1] as number) + 1;
  const damOf = (i: number): number => (dam[i - 1] as number) + 1;

  /** Adds to an ancestor's share and puts it into the list, somewhere after `from`; gives the animal before it. */
  const pass = (ancestor: number, from: number, amount: number): number => {
    let at = from;
    while ((older[at] as number) > ancestor) at = older[at] as number;
    share[ancestor] = (share[ancestor] as number) + amount;
    if (older[at] !== ancestor) {
      older[ancestor] = older[at] as number;
      older[at] = ancestor;
    }
    return at;
  };

  for (let i = 1; i <= n; i++) {
    const [s, d] = [sireOf(i), damOf(i)];
    sampling[i] = 0.5 - 0.25 * ((f[s] as number) + (f[d] as number));
    if (s === 0 || d === 0) continue;
    if (i > 1 && s === sireOf(i - 1) && d === damOf(i - 1)) {
      f[i] = f[i - 1] as number;
      continue;
    }
    let sum = -1;
    share[i] = 1;
    for (let j = i; j !== 0;) {
      const half = 0.5 * (share[j] as number);
      const [js, jd] = [sireOf(j), damOf(j)];
      const [younger, elder] = [Math.max(js, jd), Math.min(js, jd)];
      if (younger > 0) {
        const before = pass(younger, j, half);
        if (elder > 0) pass(elder, before, half);
      }
      sum += (share[j] as number) ** 2 * (sampling[j] as number);
      share[j] = 0;
      const following = older[j] as number;
      older[j] = 0;
      j = following;
    }
    f[i] = sum;
  }
  return f.subarray(1);
}
