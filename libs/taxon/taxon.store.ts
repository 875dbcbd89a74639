import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { Database, type Tx } from '../platform/prisma/index.js';
import { groupRows } from './group-rows.js';
import { parseTaxonProfile, type TaxonProfile } from './profile.schema.js';
import { type Line, type Taxon } from './taxon.js';

/** Reads taxa and lines. They are public knowledge: no scope. */
@Injectable()
export class TaxonStore {
  constructor(private readonly database: Database) {}

  /** The taxa with these ids; unknown ids are missing. */
  async findMany(ids: readonly string[]): Promise<Map<string, Taxon>> {
    const rows = await this.database.client.taxon.findMany({ where: { id: { in: [...ids] } } });
    return new Map(rows.map((row) => [row.id, row]));
  }

  /** The profile of each taxon: its biology and listing, with sources. */
  async profilesOf(ids: readonly string[]): Promise<Map<string, TaxonProfile>> {
    const rows = await this.database.client.taxon.findMany({
      where: { id: { in: [...ids] } },
      select: { id: true, profile: true },
    });
    return new Map(rows.map((row) => [row.id, parseTaxonProfile(row.profile)]));
  }

  /** The lines with these ids; unknown ids are missing. */
  async findLines(ids: readonly string[]): Promise<Map<string, Line>> {
    const rows = await this.database.client.line.findMany({ where: { id: { in: [...ids] } } });
    return new Map(rows.map((row) => [row.id, row]));
  }

  /** The lines of each taxon, by name. */
  async findLinesOf(taxonIds: readonly string[]): Promise<Map<string, Line[]>> {
    const rows = await this.database.client.line.findMany({
      where: { taxonId: { in: [...taxonIds] } },
      orderBy: { name: 'asc' },
    });
    return groupRows(rows, (row) => row.taxonId);
  }

  /** A page of taxa in the order of their scientific names, with one more than asked where there is one. */
  async page(first: number, afterName: string | null): Promise<Taxon[]> {
    return this.database.client.taxon.findMany({
      ...(afterName === null ? {} : { where: { scientificName: { gt: afterName } } }),
      orderBy: { scientificName: 'asc' },
      take: first + 1,
    });
  }
}

/** The taxon and, where one is named, the line of it, inside a transaction; null when either does not exist. */
export async function findTaxonAndLine(
  tx: Tx,
  taxonId: string,
  lineId: string | null,
): Promise<{ taxon: Taxon; line: Line | null } | null> {
  const taxon = await tx.db.taxon.findUnique({ where: { id: taxonId } });
  if (taxon === null) return null;
  if (lineId === null) return { taxon, line: null };
  const line = await tx.db.line.findFirst({ where: { id: lineId, taxonId } });
  return line === null ? null : { taxon, line };
}

/** Adds a taxon with its lines. For the seed and for files that bring their own taxon. Gives the ids. */
export async function insertTaxon(
  tx: Tx,
  taxon: Omit<Taxon, 'id' | 'dangerous' | 'dangerousSource'> & { dangerousSource?: string | null },
  lines: readonly string[],
): Promise<{ id: string; lineIds: string[] }> {
  const id = uuid();
  const { dangerousSource = null, ...rest } = taxon;
  await tx.db.taxon.create({ data: { id, ...rest, dangerous: dangerousSource !== null, dangerousSource } });
  const rows = lines.map((name) => ({ id: uuid(), taxonId: id, name }));
  await tx.db.line.createMany({ data: rows });
  return { id, lineIds: rows.map((row) => row.id) };
}
