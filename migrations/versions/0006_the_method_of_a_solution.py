"""The method of a solution in steps, and what is known of a substance as a standard

Revision: 0006, after 0005.
"""

import csv
import zlib

import sqlalchemy as sa
from alembic import op

from prep.resources import seed_data

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

# In the order of the characters' numbers, as SQLite has it, whatever the server's language.
TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")

SHIPPED = (
    "hcl-5=996e68f0 hcl-2=9fe6968b hcl-1=9fe6968b h2so4-2=401bae4d hno3-2=996e68f0 ethanoic-2=9fe6968b "
    "vinegar=55b9e687 citric-1=a72dc202 oxalic-0.05=cb354416 naoh-2=5f70d594 naoh-0.1=902562d9 "
    "koh-1=5f70d594 ammonia-2=cec3464e sodium-carbonate-1=956b9ebc sodium-hydrogencarbonate-0.5=178b43aa "
    "limewater=05e3ad2f nacl-5=ffc84de6 cacl2-1=0d66bb08 cuso4-1=0e6f8229 alum-0.2=fa5ba6b0 "
    "fecl3-0.1=a81c342a feno3-0.002=d6a9e26b agno3-0.1=5b449f7f agno3-0.02=998186ba edta-0.1=fcab1855 "
    "glucose-10=89669e0f pva-4=bcd8fb58 borax-4=fa5ba6b0 alginate-2=67e24b9c kmno4-0.1=d51b65a5 "
    "thiosulfate-0.2=130cf244 h2o2-20vol=a03abf90 hypochlorite-1=c336b2a8 bromine-water=55632914 "
    "ascorbic-0.1=454cbbb1 iodine-0.05=1658c462 iodine-0.005=29747d78 iodine-starch-test=0c808f7f "
    "thiosulfate-0.1=e185270a dichromate-acid=5c1525db kmno4-acid=67fb43b9 feso4-0.1=c250e6d9 "
    "feas-0.1=c250e6d9 sncl2-0.1=f6db4006 vanadate-0.05=e6126f4c benedict=fc738517 fehling-a=3714798b "
    "fehling-b=a7b9011e fehling=82b3678d tollens=0b697e67 biuret=49e73d45 starch-1=9fd72e16 "
    "starch-preserved=8b4ab192 lugol=1658c462 ninhydrin-0.2=5aa4a410 molybdate=291170ad dcpip-0.1=8f550af7 "
    "phenolphthalein-0.1=08058aa7 phenolphthalein-1=cea7372e methyl-orange-0.1=4c061615 "
    "methyl-red-0.05=fb43cf47 bromothymol-blue-0.05=fb43cf47 thymol-blue-0.1=fb43cf47 "
    "bromocresol-green-0.05=fb43cf47 bromophenol-blue-0.1=fb43cf47 thymolphthalein-0.1=cea7372e "
    "universal=63ff9856 litmus-1=acc3cdee eriochrome-0.5=cea7372e methylene-blue-0.1=7ee8f0ee "
    "indigo-carmine-0.5=9bc5519b buffer-4=cff7d1a9 buffer-4.6=6af646e2 buffer-6.86=cff7d1a9 "
    "buffer-7=17da47d3 buffer-9.2=cff7d1a9 buffer-10=cff7d1a9 buffer-10-ammonia=716d3fcb clock-b=cbddb93c "
    "h2o2-clock-a=67fb43b9 h2o2-clock-b=9c42f395 oscillator-a=78bcc6a2 oscillator-b=9794fb09 "
    "oscillator-c=173ce494 luminol-a=8a17f87f luminol-b=67fb43b9 traffic-alkali=fc335349 "
    "cobalt-equilibrium=d0066f74 ferroxyl=b2e923ff ethanol-70=231c6d51 washing-foam=44029041 "
)
"""Check sums of the sentences that were shipped as methods: what a school has worded itself is left as it is."""


def upgrade() -> None:
    op.create_table(
        "method_step",
        sa.Column("code", TEXT, nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("kind", TEXT, nullable=False),
        sa.Column("text", TEXT, nullable=False),
        sa.Column("item", TEXT, nullable=False),
        sa.Column("origins", TEXT, nullable=False),
        sa.Column("share", TEXT, nullable=True),
        sa.Column("temperature_c", TEXT, nullable=True),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.Column("source", TEXT, nullable=False),
        sa.PrimaryKeyConstraint("code", "position", name=op.f("pk_method_step")),
    )
    op.add_column("substance", sa.Column("assay_half_width_pct", TEXT, nullable=True))
    op.add_column("substance", sa.Column("dry_c", TEXT, nullable=True))
    op.add_column("substance", sa.Column("dry_minutes", sa.Integer(), nullable=False, server_default="0"))
    op.add_column("substance", sa.Column("unfit", TEXT, nullable=False, server_default=""))
    op.add_column("substance", sa.Column("found_against", TEXT, nullable=False, server_default=""))
    _fill(op.get_bind())


def _fill(connection: sa.Connection) -> None:
    """Give what is on file as shipped its method and its facts."""
    shipped = dict(pair.split("=") for pair in SHIPPED.split())
    worded = connection.execute(sa.text("SELECT code, method FROM solution")).all()
    ours = {code for code, method in worded if f"{zlib.crc32(method.encode()):08x}" == shipped.get(code, "00000000")}
    ours |= {code for (code,) in connection.execute(sa.text("SELECT code FROM substance"))}
    with (seed_data() / "methods.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["code"] in ours]
    if rows:
        connection.execute(
            sa.text(
                "INSERT INTO method_step (code, position, kind, text, item, origins, share, temperature_c, minutes, "
                "source) VALUES (:code, :position, :kind, :text, :item, :origins, :share, :t, :minutes, :source)"
            ),
            [
                {
                    **{name: row[name] for name in ("code", "kind", "item", "source")},
                    # The degrees of a mark stood in its words up to revision 0021, which 0022 reads.
                    "text": f"at {row['temperature_c']} to {row['up_to_c']} °C" if row["up_to_c"] else row["text"],
                    "position": int(row["order"]) - 1,
                    "origins": row["from"],
                    "share": row["share"] or None,
                    "t": row["temperature_c"] or None,
                    "minutes": int(row["minutes"] or 0),
                }
                for row in rows
            ],
        )
        stepped = [{"code": code} for code in sorted({row["code"] for row in rows})]
        connection.execute(sa.text("UPDATE solution SET method = '' WHERE code = :code"), stepped)
    with (seed_data() / "substances.csv").open(encoding="utf-8", newline="") as file:
        facts = list(csv.DictReader(file))
    connection.execute(
        sa.text(
            "UPDATE substance SET assay_half_width_pct = :half, dry_c = :dry_c, dry_minutes = :dry_minutes, "
            "unfit = :unfit, found_against = :against WHERE code = :code"
        ),
        [
            {
                "code": row["code"],
                "half": row["assay_half_width_pct"] or None,
                "dry_c": row["dry_c"] or None,
                "dry_minutes": int(row["dry_minutes"] or 0),
                "unfit": row["unfit"],
                "against": row["found_against"],
            }
            for row in facts
        ],
    )


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
