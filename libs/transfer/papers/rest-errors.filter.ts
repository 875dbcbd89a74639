import { type ArgumentsHost, Catch, type ExceptionFilter } from '@nestjs/common';
import { type FastifyReply, type FastifyRequest } from 'fastify';
import { DomainError, type ErrorCode } from '../../kernel/index.js';

const STATUS: Readonly<Record<ErrorCode, number>> = {
  UNAUTHENTICATED: 401,
  FORBIDDEN: 403,
  NOT_FOUND: 404,
  INVALID_INPUT: 400,
  RULE_REFUSED: 409,
  STALE_VERSION: 409,
  BUSY: 503,
  UNAVAILABLE: 503,
  RATE_LIMITED: 429,
  INTERNAL: 500,
};

/** Gives refusals of a REST route the same body as an error of the GraphQL API, with the fitting HTTP status. */
@Catch(DomainError)
export class RestErrors implements ExceptionFilter<DomainError> {
  catch(error: DomainError, host: ArgumentsHost): void {
    const http = host.switchToHttp();
    const { code, rule, fields, blockers } = error;
    const extensions = { code, ...(rule === undefined ? {} : { rule }), fields, blockers };
    const { id: requestId } = http.getRequest<FastifyRequest>();
    void http
      .getResponse<FastifyReply>()
      .status(STATUS[code])
      .send({ errors: [{ message: error.message, extensions: { ...extensions, requestId } }] });
  }
}
