import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import sharp from 'sharp';
import { type Drawing } from './drawing.core.js';
import { escapeXml, toSvg } from './drawing-svg.js';

const drawing = (text: string): Drawing => ({
  title: text,
  description: text,
  width: 40,
  height: 20,
  boxes: [{ x: 1, y: 1, width: 30, height: 10, frame: 'thick', grey: 0.5 }],
  strokes: [
    {
      points: [
        [0, 0],
        [3, 3],
      ],
      dashed: true,
    },
  ],
  labels: [{ x: 2, y: 2, width: 20, size: 5, text, align: 'end', bold: true, italic: true, white: true }],
});
/** libxml2 reads it, and librsvg draws it. */
const draw = (svg: string) => sharp(Buffer.from(svg)).png().toBuffer({ resolveWithObject: true });

describe('toSvg', () => {
  it('writes well-formed XML whatever the names are', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.oneof(
          fc.string({ unit: 'binary', maxLength: 40 }),
          fc.string({
            unit: fc.integer({ min: 0, max: 0xffff }).map((code) => String.fromCharCode(code)),
            maxLength: 40,
          }),
          fc.constantFrom('<script>alert(1)</script>', ']]>', '&lt;', '"\'', '<!--', '\0', '\ud800', '\ufffe'),
        ),
        async (text) => {
          const { info } = await draw(toSvg(drawing(text)));
          expect(info.width).toBeGreaterThan(100);
        },
      ),
    );
  });

  it('and the check would notice if it were not', async () => {
    await expect(draw(toSvg(drawing('NAME')).replaceAll('NAME', '<b>'))).rejects.toThrow();
  });

  it('holds no script, no reference and no style, and its title for those who hear it', () => {
    const svg = toSvg(drawing('</text><script href="x">alert(1)</script> onload=1'));
    expect(svg).not.toMatch(/<(?!\/?(svg|title|desc|rect|polyline|text)\b|\?xml)/);
    expect(svg).toContain('aria-labelledby="title description"');
    expect(svg).toContain('<title id="title">&lt;/text&gt;&lt;script');
  });

  it('replaces what XML does not allow, and nothing else', () => {
    expect(escapeXml('a\0b\ud800c\u0007\ufffe')).toBe('a\ufffdb\ufffdc\ufffd\ufffd');
    expect(escapeXml('Žofie 𐍈 👩‍👧')).toBe('Žofie 𐍈 👩‍👧');
  });
});
