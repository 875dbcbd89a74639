import { describe, expect, it } from '@jest/globals';
import { closeness } from './closeness.core.js';

/** Kinships of Falconer & Mackay, Introduction to Quantitative Genetics, ch. 5. */
describe('closeness', () => {
  it.each([
    [0.25, 'as close as full siblings, or parent and young'],
    [0.125, 'as close as half siblings, or grandparent and grandchild'],
    [0.0625, 'as close as first cousins'],
    [0.015625, 'as close as second cousins'],
    [0.3, 'closer than full siblings, or parent and young'],
    [0.2, 'closer than half siblings, or grandparent and grandchild'],
    [0.1, 'closer than first cousins'],
    [0.001, 'more distant than second cousins'],
    [0, 'no shared ancestor known'],
  ])('%d is %s', (kinship, words) => {
    expect(closeness(kinship)).toBe(words);
  });
});
