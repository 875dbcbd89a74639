import { type Viewer } from '../../kernel/index.js';

/** Token under which the application says who a socket belongs to. */
export const VIEWER_SOURCE = Symbol('viewer source');

/** Recognises who opens a socket, and later says what they may still do. */
export type ViewerSource = {
  /** Null where the headers carry no token that is good. */
  of(request: { id: string; headers: Record<string, unknown> }): Promise<Viewer | null>;
  /** The same person now; null when the session or the account is over. */
  again(viewer: Viewer): Promise<Viewer | null>;
};
