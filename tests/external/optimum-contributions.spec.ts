import { expect, it } from '@jest/globals';
import { inbreeding, kinshipMatrix, optimumContributions, sortPedigree } from '../../libs/genetics/index.js';
import { describeWithReference, referenceTable } from './reference-folder.js';

describeWithReference('optimum contributions on a real herd', () => {
  it('the living give less mean kinship than in equal shares', () => {
    const rows = referenceTable('pedigrees/dorcas.csv');
    const place = new Map(rows.map(({ id }, at) => [id, at]));
    const placesOf = (parent: 'sire' | 'dam') => Int32Array.from(rows, (row) => place.get(row[parent]) ?? -1);
    const sorted = sortPedigree(placesOf('sire'), placesOf('dam'));
    if (sorted.kind !== 'sorted') throw new Error('the pedigree has a cycle');
    const { pedigree } = sorted;
    const living = [...rows.keys()].filter((at) => rows[at]?.['refpop'] === '1' && rows[at]['sex'] !== '');
    const sex = Int8Array.from(living, (at) => (rows[at]?.['sex'] === 'M' ? 0 : 1));
    const kinship = kinshipMatrix(pedigree, inbreeding(pedigree), living);
    const { meanKinship, kktResidual } = optimumContributions({ kinship, sex });
    const males = sex.filter((side) => side === 0).length;
    const equal = Float64Array.from(sex, (side) => 0.5 / (side === 0 ? males : sex.length - males));
    const n = sex.length;
    const equalMean = kinship.reduce(
      (sum, f, at) => sum + f * (equal[Math.floor(at / n)] as number) * (equal[at % n] as number),
      0,
    );
    expect(kktResidual).toBeLessThanOrEqual(1e-10);
    expect(meanKinship).toBeLessThan(equalMean);
  });
});
