import { type UploadRules } from '../../platform/uploads/index.js';

/** Files of a holding document. */
export const DOCUMENT_FILES: UploadRules = {
  types: ['application/pdf', 'image/png', 'image/jpeg'],
  inWords: 'PDF, PNG and JPEG',
  maxBytes: 10 * 1024 * 1024,
  remedy: 'Scan it at a lower resolution.',
};
