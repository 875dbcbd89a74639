import { getDocument } from 'pdfjs-dist/legacy/build/pdf.mjs';

/** The text of a PDF as a reader sees it, pages and lines joined by single blanks. */
export async function pdfText(pdf: Uint8Array): Promise<string> {
  const document = await getDocument({ data: new Uint8Array(pdf), verbosity: 0 }).promise;
  const texts: string[] = [];
  for (let number = 1; number <= document.numPages; number++) {
    const content = await (await document.getPage(number)).getTextContent();
    texts.push(...content.items.map((item) => ('str' in item ? item.str : '')));
  }
  await document.destroy();
  return texts.join(' ').replace(/\s+/g, ' ');
}
