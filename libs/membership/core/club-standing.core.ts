import { type DomainError, forbidden, holdsOffice, notFound, type Viewer } from '../../kernel/index.js';

/** Whether the viewer sees that there is the club: through a membership or an office of today. */
export function seesClub(viewer: Viewer, clubId: string): boolean {
  return viewer.clubIds.includes(clubId) || viewer.offices.some((office) => office.clubId === clubId);
}

/** What somebody without the office hears: FORBIDDEN who sees the club, NOT_FOUND everybody else, as for a club that is not there. */
export function withoutOffice(
  viewer: Viewer,
  clubId: string,
  message = 'Only a registrar of the club does this.',
): DomainError {
  return seesClub(viewer, clubId) ? forbidden(message) : notFound('club');
}

/** Throws what `withoutOffice` says unless the viewer is a registrar of the club. */
export function requireRegistrar(viewer: Viewer, clubId: string): void {
  if (!holdsOffice(viewer, { clubId, region: null, taxonId: null })) throw withoutOffice(viewer, clubId);
}
