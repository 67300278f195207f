"""Words of the trade in other alphabets: headings in them are read by the English words they stand for.

Stems stand for all forms of a word. Written from the usual terms of water supply in these languages.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache

_WORDS: dict[str, str] = {
    "differential": (
        "压差 壓差 差圧 차압 перепад διαφορικ 差压 差壓 різниц разлик разност διαφορ فرق "
        "اختلاف הפרש ผลต่าง"
    ),
    "target": "设定 設定 설정 уставк задани 목표 задан завдан зададен ρυθμιση ضبط ตั้งค่า",
    "alarm": "报警 報警 警報 경보 тревог авари аларм συναγερμ إنذار אזעקה",
    "pressure": (
        "压力 壓力 压强 水压 水壓 圧力 水圧 압력 수압 давлен тиск налягане притис πιεσ "
        "ضغط فشار לחץ ความดัน แรงดัน दबाव दाब напор 压 壓 圧 наляган қысым წნევ ճնշում"
    ),
    "inlet pressure": "一次圧 1차압",
    "outlet pressure": "二次圧 2차압",
    "inlet": (
        "入口 进口 進口 阀前 閥前 上游 上流 进水 進水 一次側 一次侧 1次側 입구 유입 상류 "
        "전단 1차 вход вхід вхідн улаз влез εισοδ αναντ الدخول مدخل دخول قبل ورودی כניסה "
        "ขาเข้า ก่อน इनलेट प्रवेश 入水 一次 流入 впуск кіріс เข้า შესასვლელ մուտք"
    ),
    "before": "\\bперед\\b \\bперед(?=[а-яё]) \\bпред\\b \\bдо\\b \\bпреди\\b",
    "outlet": (
        "出口 阀后 閥後 下游 下流 出水 二次側 二次侧 2次側 출구 유출 하류 후단 2차 выход "
        "вихід вихідн виход изход излаз излез εξοδ καταντ الخروج مخرج خروج بعد خروجی "
        "יציאה ขาออก หลัง आउटलेट निकास 二次 流出 шығыс ออก გამოსასვლელ ելք"
    ),
    "after": "\\bпосле \\bпісля \\bслед\\b",
    "between": "中间 中間 중간 между між измежду између",
    "flow": (
        "流量 유량 расход разход витрат дебит проток παροχ تدفق تصريف جريان دبی جریان "
        "ספיקה อัตราการไหล การไหล प्रवाह बहाव шығын ხარჯი ծախս"
    ),
    "total": (
        "累计 累計 累积 累積 積算 总量 總量 적산 누적 счетчик счётчик лічильник накоплен "
        "водомер брояч объем обʼєм обєм обем μετρητ ογκ عداد الحجم کنتور מונה 积算 総量 "
        "накопл об'єм συνολ αθροισ تراكمي إجمالي مجموع מצטבר נפח สะสม ปริมาตร"
    ),
    "temperature": (
        "温度 溫度 水温 水溫 온도 수온 температур θερμοκρασ حرارة دما טמפרטורה อุณหภูมิ "
        "तापमान"
    ),
    "battery": (
        "电池 電池 电压 電壓 電圧 배터리 전압 батаре батер аккумул акумул напряжени "
        "напруга напон μπαταρ τασ\\b بطارية باتری סוללה แบตเตอรี่ แรงดันไฟ बैटरी напряж "
        "напруг"
    ),
    "level": "液位 水位 수위 уровен уровн рівен рівн ниво σταθμ منسوب مستوى سطح מפלס ระดับ स्तर",
    "position": "开度 開度 阀位 개도 положени відкритт открыти положен",
    "closed": "关闭 關閉 切断 遮断 닫힘 차단 закрыт закрит затворен κλειστ مغلق בסתה סגור",
    "minimum": "最小 最低 최소 миним мінім ελαχιστ أدنى حداقل מינימום ต่ำสุด न्यूनतम",
    "maximum": "最大 最高 최대 максим μεγιστ أقصى أعلى حداکثر מקסימום สูงสุด अधिकतम макс",
    "mean": "平均 평균 средн середн μεσ[ηο]ς?\\b متوسط معدل میانگین ממוצע เฉลี่ย औसत просеч",
    "time": (
        "时间 時間 时刻 時刻 日時 일시 시간 시각 время време \\bчас\\b ωρα وقت الساعة زمان "
        "שעה זמן เวลา समय уақыт زمن"
    ),
    "date": (
        "日期 日付 날짜 일자 дата ημερομην تاريخ تاریخ תאריך วันที่ दिनांक तारीख датум "
        "күні ημ/νια"
    ),
    "value": (
        "数值 數值 测量值 測定値 측정값 값 значени стойност вредност τιμη قيمة مقدار ערך "
        "मान ค่า 値 значен"
    ),
    "channel": "通道 测点 測點 채널 센서 канал параметр датчик καναλ القناة ערוץ チャンネル قناة",
    "unit": "单位 單位 単位 단위 единиц одиниц мерна μοναδ وحدة יחידה หน่วย इकाई",
    "status": "状态 狀態 状態 상태 статус состояни качеств καταστασ حالة สถานะ состоян",
    "number": "序号 序號 编号 編號 번호 순번 номер № αριθμ رقم 番号",
    "velocity": "流速 유속 скорост швидк брзин ταχυτητ سرعة سرعت מהירות ความเร็ว",
    "spot": "瞬间 瞬間 瞬时 瞬時 순시 мгновен миттєв",
    "signal": "信号 信號 신호 сигнал σημα إشارة",
    "remark": "备注 備考 비고 примечан примітк забележ παρατηρ σχολι ملاحظ หมายเหตุ",
}  # fmt: skip
_UNITS = {
    "pressure MPa": "兆帕 mpa.g mpa(g)",
    "pressure kPa": "千帕 kpa(g)",
    "pressure kgf/cm²": (
        "公斤 กก./ซม.2 กก/ซม2 kg/sq.cm kg/sqcm kgs/cm2 kgf/sq.cm kgs/sq.cm kg/cm2(g) ksc кгс/кв.см "
        "公斤/cm2"
    ),
    "pressure m head": "米水柱 м.в.ст мвс μυσ μ.υ.σ м.вод.ст мвод.ст",
    "flow m³/h": (
        '立方米/小时 立方米/时 吨/小时 м3/год m3/ωρα m3/ω م3/س م3/ساعة מ"ק/שעה מק/שעה ลบ.ม./ชม ลบ.ม./ชั่วโมง '
        "klph kl/hour cum/h cu.m/h м3/сағ м3/ч. ลบ.ม/ชม m3/ชม م3/ساعه متر3/ساعة مترمکعب/ساعت "
        'مترمکعببرساعت m3/שעה מק"ש מק״ש קוב/שעה 立方米/h m3/小时 m3/时 m3/時 m3/毎時 m3/시간 m3/시 '
        "t/h m3/ώρα κ.μ./ώρα მ3/სთ մ3/ժ"
    ),
    "flow L/s": (
        "升/秒 لتر/ثانية ل/ث لتر/ث لتر/ثانیه لیتر/ثانیه لیتربرثانیه ליטר/שניה l/秒 リットル/秒 리터/초 "
        "л/сек. l/δευτ lt/δευτ λίτρα/δευτ ლ/წმ ลิตร/วินาที"
    ),
    "volume m³": "立方米 م3 ลบ.ม מ3 קוב",
    "flow m³/d": "м3/ден м3/добу м3/доба m3/日 立方米/日 m3/يوم م3/يوم",
    "pressure bar": "بار בר บาร์ 바 बार бара",
    "flow L/min": "لتر/دقيقة لتر/د 升/分 l/分 リットル/分 리터/분 л/хв л/мин. ลิตร/นาที",
    "flow Ml/d": "ml/day",
    "flow cfs": "cusec cusecs",
}  # fmt: skip
"""Units as they are written there: by kind and symbol of the table the spellings, lower case, without blanks.

A year (*год*) is meant by no logger of flows."""
UNITS: dict[str, tuple[str, str]] = {
    spelling: (meant.partition(" ")[0], meant.partition(" ")[2])
    for meant, listed in _UNITS.items()
    for spelling in listed.split()
}
_FAR = re.compile("[\u0370-\u1cff\u2e80-\ufaff\u2116]")
"""Letters beyond those of Latin writing."""
PAGES = (
    "cp932", "gb18030", "big5", "cp949", "cp1251", "koi8-r", "cp866", "cp1253", "cp1256", "cp1255", "cp874",
)  # fmt: skip
"""Encodings of one or two bytes for these alphabets."""
LOOKED, LINES = 1 << 16, 200
"""Bytes of a file in which words are looked for, and how many of its lines beyond ASCII."""


def flattened(text: str) -> str:
    """Return lower case without accents, as the words are looked for."""
    flat = unicodedata.normalize("NFKD", text)
    return unicodedata.normalize(
        "NFC", "".join(one for one in flat if not unicodedata.combining(one))
    ).casefold()


def _listed() -> Iterable[tuple[str, str]]:
    pairs = [(flattened(word), name) for name, all_ in _WORDS.items() for word in all_.split()]
    return sorted(pairs, key=lambda one: -len(one[0].replace(r"\b", "")))


_LISTED = dict(_listed())
_ANY = re.compile("|".join(f"({one})" for one in _LISTED))
_NAMES = tuple(_LISTED.values())


@lru_cache(maxsize=65_536)
def in_english(text: str) -> str:
    """Return a heading with the words of other alphabets replaced by English ones; others are left.

    Examples
    --------
    >>> in_english("Давление на входе, бар").split()[0], "inlet" in in_english("Давление на входе, бар")
    ('pressure', True)
    >>> in_english("Vordruck [bar]")
    'Vordruck [bar]'
    """
    if text.isascii() or not _FAR.search(text):
        return text
    return _ANY.sub(lambda found: f" {_NAMES[(found.lastindex or 1) - 1]} ", flattened(text))


def page_of(content: bytes) -> str:
    """Return the encoding in which a text that is no UTF-8 holds words of another alphabet; "": in none.

    One word decides: of two signs or more in the writings of East Asia, of four letters in the others.
    """
    lines = [one for one in content[:LOOKED].split(b"\n") if not one.isascii()]
    head = b"\n".join(dict.fromkeys(lines[:LINES]))
    best, most = "", 0
    for name in PAGES:
        text = head.decode(name, errors="replace")
        if text.count("�") > 1 + len(text) // 1000:
            continue
        text = flattened(text)
        score = sum(weight for word, weight in _TELLING if word in text)
        if score > most:
            best, most = name, score
    return best


def _telling() -> Iterable[tuple[str, int]]:
    """Return the words of which one tells an encoding, with their weight."""
    for word in (one.replace(r"\b", "") for one in _LISTED):
        is_east = word[:1] >= "\u2e80"
        if len(word) >= (2 if is_east else 4) and "[" not in word:
            yield word, len(word) * (2 if is_east else 1)


_TELLING = tuple(_telling())
