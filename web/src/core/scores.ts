// Scores of the signs of work: natural log odds of down against up, table by table.
//
// Written by `python web/scores.py`, not by hand: they are fitted at home. MOVEMENT is for the
// first round, without the ground; WITH_GROUND for the rounds after it; GOES_DOWN and GOES_UP say
// how much likelier a change is at such a place. Bins: see `signs`; of two signs the first goes
// along the rows.

/** One score a bin, row by row. */
export type Table = readonly number[];

/** Hundredths in two digits each, which pack well: all first digits, then all second ones. */
const read = (text: string): Table => {
  const digit = (k: number): number => text.charCodeAt(k) - 36;
  const n = text.length / 2;
  return Array.from({ length: n }, (_, i) => (56 * digit(i) + digit(n + i) - 1568) / 100);
};

export const MOVEMENT: Readonly<Record<string, Table>> = {
  pace: read(">??89?@@@?;/+6;5W7L+,+R3VO"),
  bend: read("@@@@@?>>>>XVTVQVM/1M"),
  near: read("BBBA@??BBBA@?>BBBB??>AABC?><@@@@?><??@A@=:>>>?>9:535H5H4877C*BX8AIEEC9';GN[KBHD7=5VOHP7)'MD<=+:8WM"),
  far: read("@@@??>@@@A@??@AAAB@@@?@ABCD>??@BBB>>>?@AB=>>=<;:94M[C@D?NS.QI0I+4=)M;*Y>X(//?<V33%K*LQ0EE01*'T1GWH"),
  swing: read("AA@?>=>OCS2.KV"),
  fence: read("<@@>=@A=?B@?B@?A@@>>>?>=?==A?>B@@C@AR$$K0$RKVJ.SFCJRT3Z[;ZA>JUZ+9WIDZFSI"),
};

export const WITH_GROUND: Readonly<Record<string, Table>> = {
  pace: read("<=?;<@AAAA<3/?P76XV/..(7%+"),
  bend: read("AAAA@?>>>>)$%$[ZU,28"),
  near: read("AAAA@@>AAAA@@?BBBB@@>AABC@>=@@@@>>=??@@?=;==>@>::EDWDZ@HNOTBR6(&,2A@,Z&4;-9U3@LIJT;:KR<G'SS2I>&>AU"),
  far: read("@@A??>@@@A@??@AAAB@@@?@BBCB?>>?CCA?==>?@A>======;1I1I3M>HU?Z11C(DO9954E-37K[.=X=MQ05RJ++F8ED<700,:"),
  swing: read("BAA?>=>)R'C@A,"),
  fence: read("<@@<<@@=?A@?AA@AA@?@@=????>A@?C@@@>?<$$LL$&LX8S[5;9):W=Y[[KC>NRYQ7,T:TXE"),
  under: read("AAA@>>@AA@??ABA???AA@>????>>??>?>>?@(PBN[$;RSV?%%(9M,L;/5F3CP:V8)5YCP>,&"),
  seam: read("??>?>=@@?@@??A@@@@@@A@@@AA@@@@@@A@@@@@@@>?@@@@@@=6'U6>;A$+-.IH%$$VEM90$$$*.IV$$$$;*>$$$$$SR$$$$$$G"),
  followed: read(">>??@@?@??@@??@@@@@?@@@@@@?@@@@@@?@@@@@@@@@@@@@@?E;>W>%D$@RIAMZ$$&E:N/$$$SHKH$$$$2B%$$$$$8%$$$$$$("),
  on: read("CA@@>>CCB@>>BBCA?>A@AA>=@@@><;@@?=;:,UV'TC.QEBUM/D0O1A1TV;619:%L6--4[R2I"),
};

export const GOES_DOWN: Readonly<Record<string, Table>> = {
  near: read("???>>>???@@>?@@@@@>A@@@@@?B@AAA@>@?A@@==>?BB@@>??OUWFWA[ZV$&B8$/13.CN$DF6=HG$<9',C$R=X>Y0FZ?*$4P,C"),
  far: read("@??>>@?@??><?@@??=@>?A@@=>?@@A@>;<@AAAA@A@AAA@@CC5@65=>K0:0Z[I)$O5$LT?@M-V'F;V)CI+R+PYLKQ'Z9:9Y[-A"),
  sway: read(">@@@>>?@A@>A>?AAA@??@AAA@@??AAA@?>?AA@???>A@@><<>TIS9GIG=.9ADS@77;Q;BML9=+3909:7G=C:>0>V0:I(F4Q)>*"),
  step: read(">>>?@@>???@A????@A@@??@@A@@@@?@@@@@?$COAJCB<68N/@69'YE>5D12<*X7.'NUU?D3T"),
  on: read(">??@AB?@@??>>?@??@????@@??@@@???@@@?>S[/(Q>7BOQSXG3JH/OXN?;>WV%='5XP(INX"),
  flanks: read(":>>==>>?>????@?@@@???AAA@?AABB@@@BBBD,$KZ)/(7(>YQO%FFGV[)9ER8M9Z105YI*.0"),
  pace: read("./59;;;;;;;88/=XG0IVVQO35D"),
  enters: read("???@@@?????@@@?KC[0F:[?FGW8F)V"),
  leaves: read("?@>>>?@@@@@@@@@U&RRV$%:WTK3%JL"),
  bends: read("A@@A@@@@?>>>>?A,AY.258HKWS=)G&"),
  straightens: read("BBBBA@@?===???=FI2/0YL((9PR&3["),
};

export const GOES_UP: Readonly<Record<string, Table>> = {
  near: read("??@AAA@>?@@AA@=??@AA@=>?@AA@=>>?AAA?>?>>?@???>=A@0W=(-*DMOKY<F[>Z[OHMT:C?DN?PY:HYG>$3Z(GD[SD<5*E'A"),
  far: read("<>?@C?@<<>@B?A>=>@B?A===?@@A>??@@C@==??BBA@>?CEACA%CA3MUKQ>&BM$;5;9-$8TZN6/54U,J:VD9(1%YT%T9HBM,,+"),
  sway: read("??@@@AA??@@@AA>??@@@A>>?@?>?>>???><@>AA@??A?A?@@AGJ-KX@PY@(,?)LQ@X-FJ0PA?&HQ78'RT:HR:B)$T35Z3E8YRR"),
  step: read("@@@@@@@@?@@@@@??@????????@????@@@@??575924JEJ<0,2'WU%V:??>?>ITVK>F>8%6DI"),
  on: read("A@@@@@@@A@@@@@@@??@?????@@?>>>@@@>>>'PWLH;QT$83,N@10WQE,SLHJ*29JLZ'36<C6"),
  flanks: read("A?@@?@A>?A??A>>?@?A?@???@@@???@?????=@?VV/0MD@PF/CJB8P:;-XFV10@SMI+PIHIH"),
  pace: read("C??>??????><>0>LV6N==;A%?G"),
  enters: read("???@@@@@@???@@>4Q?AWG67&QLL/9V"),
  leaves: read("@@????@@@???@@@-DSM6C?$1UUX'+3"),
  bends: read(":;?AABBA@A@??A=SL6.T/,0S?PWXD$"),
  straightens: read(">>@>=>@AAAA?@@?508YWLKCUJ+Q&Q["),
};
