import { type Pedigree } from '../../../libs/genetics/index.js';

/**
 * The whole kinship matrix by the tabular method (Emik & Terrill 1949, J. Hered. 40:51): each row is the mean of the
 * parents' rows, the upper half a mirror of the lower. The yardstick, and nothing else.
 *
 * @param pedigree parents stand before their children in the numbering itself
 * @returns n × n kinships, row by row
 */
export function denseTable({ sire, dam }: Pedigree): Float64Array {
  const n = sire.length;
  const f = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    const s = sire[i] as number;
    const d = dam[i] as number;
    for (let j = 0; j < i; j++) {
      const bySire = s < 0 ? 0 : (f[s * n + j] as number);
      const byDam = d < 0 ? 0 : (f[d * n + j] as number);
      const value = 0.5 * (bySire + byDam);
      f[i * n + j] = value;
      f[j * n + i] = value;
    }
    f[i * n + i] = 0.5 * (1 + (s < 0 || d < 0 ? 0 : (f[s * n + d] as number)));
  }
  return f;
}
