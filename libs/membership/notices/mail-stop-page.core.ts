import { type NoticeGroup } from './notice-group.core.js';

/** What each group is called in words. */
const WORDS: Readonly<Record<NoticeGroup, string>> = {
  transfers: 'transfers',
  threads: 'threads with other keepers',
  health: 'quarantine and health',
  documents: 'holding documents',
  origins: 'what the records say of an origin',
  membership: 'memberships',
  marks: 'marks that were found or stand twice',
  thefts: 'answers to reports of theft',
  other: 'other things',
};

/** What a link ends, in words. */
export function stopsInWords(stops: NoticeGroup | 'digest'): string {
  return stops === 'digest' ? 'the daily mail' : `mails about ${WORDS[stops]}`;
}

/** Asks before anything is done: mail programs and their guards open links by themselves. HTML without script. */
export function askToStopPage(stops: NoticeGroup | 'digest'): string {
  return page(
    'Stop these mails?',
    `<p>This ends ${stopsInWords(stops)} to your account. The notices themselves stay in the registry, and you can choose again there.</p>
<form method="post"><button type="submit">Stop ${stopsInWords(stops)}</button></form>`,
  );
}

/** It is done. */
export function stoppedPage(stops: NoticeGroup | 'digest'): string {
  return page(
    'No more of these mails',
    `<p>Your account no longer gets ${stopsInWords(stops)}. The notices themselves stay in the registry. Mails about your account, and word that an animal you have is reported stolen, still come.</p>`,
  );
}

/** The page for a code that this registry did not make. */
export function noStopPage(): string {
  return page(
    'This link is not good',
    '<p>It is not whole, or not from this registry. Sign in to choose which mails you get.</p>',
  );
}

function page(title: string, body: string): string {
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="robots" content="noindex, nofollow">
<title>${title}</title>
</head>
<body>
<h1>${title}</h1>
${body}
</body>
</html>
`;
}
